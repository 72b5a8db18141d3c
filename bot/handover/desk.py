"""The desk between residents who ask for a person and the agents who are there."""

from __future__ import annotations

import asyncio
import logging
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from pathlib import Path

from actions.current import SHELF
from bot.access.settings import Settings
from bot.handover.store import Chat, Chats

logger = logging.getLogger(__name__)

HERE = 60.0
"""Seconds after which an agent's page that no longer asks counts as closed (for new chats)."""
AGENT_GONE = 45.0
"""Seconds without a sign of an agent's page after which the assistant answers a chat again."""
RESIDENT_GONE = 90.0
"""Seconds without a sign of a resident's page after which a chat is over."""
SWEEP = 5.0
"""Seconds between two looks at who is gone."""
QUEUE = 50
"""Chats that may wait at once."""

TAKEN = "A person from the contact centre has joined the chat."
BACK = "The person had to go. Another person will join. You can ask the assistant meanwhile."
ENDED = "The person has left the chat. The assistant answers again."
LEFT = "The resident left the chat."


class Desk:
    """Chats and agents. Times are seconds of `now`."""

    def __init__(
        self, path: Path, settings: Settings, now: Callable[[], float] = time.time
    ) -> None:
        self.settings, self.now = settings, now
        self.chats = Chats(path, now)
        self.agents: dict[str, float] = {}
        self.bell: asyncio.Event | None = None

    # ---- news

    def ring(self) -> None:
        """Wake whoever waits for news."""
        bell, self.bell = self.bell, None
        if bell:
            bell.set()

    async def news(self, seconds: float) -> None:
        """Wait for news, at most some seconds."""
        if self.bell is None:
            self.bell = asyncio.Event()
        with suppress(asyncio.TimeoutError):
            await asyncio.wait_for(self.bell.wait(), seconds)

    # ---- who is there

    def seen(self, agent: str, ready: bool = True) -> None:
        """An agent's page is there; `ready` says whether it takes chats."""
        if ready:
            self.agents[agent] = self.now()
        else:
            self.agents.pop(agent, None)
        self.chats.see_agent(agent)

    def gone(self, agent: str) -> None:
        """An agent signed out."""
        self.agents.pop(agent, None)
        for chat in self.chats.all("taken"):
            if chat.agent == agent:
                self.end(chat, agent)

    def somebody(self) -> bool:
        """Whether an agent is there who takes chats."""
        return any(self.now() - seen <= HERE for seen in self.agents.values())

    def within_hours(self) -> bool:
        """Whether chats are handed over at this hour."""
        if self.settings.chat_hours is None:
            return True
        days, start, end = self.settings.chat_hours
        here = datetime.fromtimestamp(self.now())
        return here.weekday() in days and start <= here.strftime("%H:%M") < end

    def staffed(self) -> bool:
        """Whether asking for a person leads to one."""
        return self.within_hours() and self.somebody()

    @staticmethod
    def instead() -> str:
        """What a resident is told where no person is there."""
        scheme = SHELF.current().scheme
        return (
            f"No one from the contact centre can join the chat now. You can call {scheme.phone}, "
            f"{scheme.hours}. You can also go on asking me."
        )

    # ---- what agents and residents do

    def take(self, chat: Chat, agent: str) -> bool:
        """Give a chat to an agent."""
        done = self.chats.take(chat.id, agent)
        if done:
            self.chats.say(chat.id, "note", TAKEN)
        self.ring()
        return done

    def give_back(self, chat: Chat, agent: str) -> bool:
        """Let a chat wait for another agent, if there is one; else the assistant goes on."""
        others = [a for a, seen in self.agents.items() if a != agent and self.now() - seen <= HERE]
        if not others:
            return self.end(chat, agent)
        done = self.chats.give_back(chat.id, agent)
        if done:
            self.chats.say(chat.id, "note", BACK)
        self.ring()
        return done

    def end(self, chat: Chat, agent: str) -> bool:
        """End a chat; the assistant answers again."""
        done = self.chats.move(chat.id, ["taken"], "ended", by=agent)
        if done:
            self.chats.say(chat.id, "note", ENDED)
        self.ring()
        return done

    def leave(self, chat: Chat) -> bool:
        """The resident has left."""
        done = self.chats.move(chat.id, ["waiting", "taken"], "left")
        if done:
            self.chats.say(chat.id, "note", LEFT)
        self.ring()
        return done

    def sweep(self) -> None:
        """End what nobody is there for any more, and say so."""
        now = self.now()
        for agent in [a for a, seen in self.agents.items() if now - seen > HERE]:
            del self.agents[agent]
        for chat in self.chats.all("waiting", "taken"):
            if now - chat.resident_seen > RESIDENT_GONE:
                self.leave(chat)
            elif chat.state == "taken" and chat.agent and now - chat.agent_seen > AGENT_GONE:
                self.end(chat, chat.agent)
            elif chat.state == "waiting":
                late = now - max(chat.asked, chat.changed) > self.settings.wait
                if (late or not self.staffed()) and self.chats.move(chat.id, ["waiting"], "ended"):
                    self.chats.say(chat.id, "note", self.instead())
                    self.ring()

    async def keep(self) -> None:
        """Sweep for as long as the server runs."""
        forgotten = 0.0
        while True:
            try:
                self.sweep()
                if self.now() - forgotten > 3600:
                    forgotten = self.now()
                    self.chats.forget(forgotten - self.settings.keep)
            except Exception:
                logger.exception("The chats could not be looked through; trying again.")
            await asyncio.sleep(SWEEP)
