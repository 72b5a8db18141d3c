"""Asks the assistant for the short form, through the framework's agent as every channel does."""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable
from typing import Any

from rasa.core.agent import Agent
from rasa.core.channels.channel import UserMessage
from rasa.shared.core.events import SlotSet

from actions.handlers import SLOT
from actions.state import State
from bot.channels.incoming import Incoming, clean
from bot.channels.rest import answered
from bot.sms.desk import Answer

logger = logging.getLogger(__name__)

CHANNEL = "sms"


class Assistant:
    """The running assistant. `agent` gives the framework's agent once that is loaded."""

    def __init__(self, agent: Callable[[], Agent]) -> None:
        self.agent = agent
        self.on_message: Callable[[UserMessage], Awaitable[Any]] = lambda message: (
            self.agent().handle_message(message)
        )

    async def __call__(self, sender: str, text: str, district: str | None, afresh: bool) -> Answer:
        """The answer to a message, whatever fails."""
        agent = self.agent()
        if afresh:
            await forget(agent, sender)
        metadata = {"channel": CHANNEL, **({"district": district} if district else {})}
        incoming = Incoming(sender, clean(text), metadata)
        messages = await answered(incoming, self.on_message, agent, CHANNEL)
        (told,) = [m["custom"] for m in messages if "custom" in m]
        words = " ".join(m["text"] for m in messages if m.get("text"))
        return Answer(words, told["kind"], await district_told(agent, sender))


async def memory(agent: Agent, sender: str) -> State:
    """What the conversation remembers."""
    tracker = await agent.tracker_store.retrieve(sender)
    return State.from_slot(tracker.get_slot(SLOT) if tracker else None)


async def district_told(agent: Agent, sender: str) -> str | None:
    """The district that the person said is theirs, not one that was only spoken of."""
    try:
        return (await memory(agent, sender)).district
    except Exception:
        logger.exception("The district of a conversation could not be read.")
        return None


async def forget(agent: Agent, sender: str) -> None:
    """Forget the question that is open: after hours, "2" answers nothing any more."""
    try:
        async with agent.lock_store.lock(sender):
            tracker = await agent.tracker_store.retrieve(sender)
            if tracker is not None:
                tracker.update(SlotSet(SLOT, None))
                await agent.tracker_store.save(tracker)
    except Exception:
        logger.exception("A conversation could not be started afresh.")
