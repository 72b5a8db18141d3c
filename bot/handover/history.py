"""What was said in a conversation before a person joined, from the server's own store."""

from __future__ import annotations

from typing import Any

from rasa.core.agent import Agent
from rasa.shared.core.events import BotUttered, UserUttered

from bot.handover.store import Chat, Chats

MOST = 200
"""Lines of a conversation that are shown, the latest."""


async def said(agent: Agent, sender: str) -> list[dict[str, Any]]:
    """The lines between resident and assistant, oldest first."""
    tracker = await agent.tracker_store.retrieve_full_tracker(sender)
    lines = []
    for event in tracker.events if tracker else []:
        if isinstance(event, UserUttered) and event.text:
            lines.append({"who": "resident", "text": event.text, "at": event.timestamp})
        elif isinstance(event, BotUttered) and event.text:
            lines.append({"who": "assistant", "text": event.text, "at": event.timestamp})
    return lines[-MOST:]


async def whole(agent: Agent, chats: Chats, chat: Chat) -> list[dict[str, Any]]:
    """The conversation so far with all that was said since, in the order of time."""
    before = await said(agent, chat.sender)
    since = [
        {"who": line.who, "text": line.text, "at": line.at, "id": line.id}
        for line in chats.lines(chat.id)
    ]
    return sorted(before + since, key=lambda line: float(line["at"]))
