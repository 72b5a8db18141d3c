"""A live danger is told of at once, even while a person answers the chat."""

from __future__ import annotations

import logging
from collections import OrderedDict
from typing import Any

from rasa.core.agent import Agent

from actions import fit, understanding
from actions.current import SHELF
from actions.handlers import SLOT, channel_day, channel_district
from actions.reply import contract
from actions.state import State
from actions.turn import Turn
from actions.wording import render

logger = logging.getLogger(__name__)

MOST = 500
"""Chats whose memory is kept."""


class Watch:
    """Reads each line a resident writes to a person, as the assistant would read it.

    It keeps what the chat is about, so that "it is hot" after a battery is understood.
    """

    def __init__(self) -> None:
        self.memory: OrderedDict[int, State] = OrderedDict()

    async def look(
        self, agent: Agent, chat: int, sender: str, text: str, district: str | None
    ) -> tuple[str, dict[str, Any]] | None:
        """The emergency answer and its machine-readable form, if the line tells of one."""
        try:
            book = SHELF.current()
            state = self.memory.pop(chat, None)
            if state is None:
                tracker = await agent.tracker_store.get_or_create_tracker(sender)
                state = State.from_slot(tracker.get_slot(SLOT))
            parsed = await agent.parse_message(text)
            understood = fit.understood(book, understanding.from_message(parsed))
            metadata = {"district": district}
            turn = Turn(
                book,
                fit.remembered(book, state),
                understood,
                channel_district(book, metadata),
                channel_day(metadata),
            )
            self.memory[chat], reply = turn.reply()
            while len(self.memory) > MOST:
                self.memory.popitem(last=False)
        except Exception:
            logger.exception("A line of a chat could not be read for dangers.")
            return None
        if reply.kind != "emergency":
            return None
        return render(book, reply).text, contract(book, reply)
