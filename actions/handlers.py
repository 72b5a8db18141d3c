"""The custom actions of the framework: each hands a message to the dialogue and sends its reply."""

from __future__ import annotations

import logging
from datetime import date
from typing import Any

from rasa_sdk import Action, Tracker
from rasa_sdk.events import EventType, SlotSet
from rasa_sdk.executor import CollectingDispatcher

from actions import fit, understanding
from actions.current import SHELF
from actions.reply import contract
from actions.state import State
from actions.trail import trail
from actions.turn import Turn
from actions.wording import render
from rules.model import Book

logger = logging.getLogger(__name__)

SLOT = "memory"


def channel_district(book: Book, metadata: dict[str, Any]) -> str | None:
    """The district chosen in the channel; one that does not exist is passed over and logged."""
    named = metadata.get("district")
    if named in (None, ""):
        return None
    if isinstance(named, str) and named in book.districts:
        return named
    logger.warning("Unknown district %.40r in the message's metadata is ignored.", named)
    return None


def channel_day(metadata: dict[str, Any]) -> date:
    """The day to answer for; without one, or with a bad one (which is logged), today."""
    named = metadata.get("on")
    if named in (None, ""):
        return date.today()
    try:
        return date.fromisoformat(named)
    except (TypeError, ValueError):
        logger.warning("Bad date %.40r in the message's metadata is ignored.", named)
        return date.today()


class ActionReply(Action):  # type: ignore[misc]
    """Answers the latest message from the rule book."""

    def name(self) -> str:
        """The action's name in the domain."""
        return "action_reply"

    def run(
        self, dispatcher: CollectingDispatcher, tracker: Tracker, domain: dict[str, Any]
    ) -> list[EventType]:
        """Send the reply with its machine-readable answer, and keep the memory of it."""
        message = tracker.latest_message
        metadata = message.get("metadata")
        metadata = metadata if isinstance(metadata, dict) else {}
        book = SHELF.current()
        state = fit.remembered(book, State.from_slot(tracker.get_slot(SLOT)))
        understood = fit.understood(book, understanding.from_message(message))
        turn = Turn(
            book,
            state,
            understood,
            channel_district(book, metadata),
            channel_day(metadata),
        )
        state, reply = turn.reply()
        worded = render(book, reply, short=metadata.get("channel") == "sms")
        dispatcher.utter_message(
            text=worded.text,
            buttons=[dict(b) for b in worded.buttons],
            json_message=contract(book, reply),
            trail=trail(book, reply, understood),
        )
        return [SlotSet(SLOT, state.to_slot())]
