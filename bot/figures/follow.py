"""Follows a conversation from a question the assistant asked to what became of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from sys import intern
from typing import Any

SETTLED, CAREFUL, LEFT, SILENT, LOST = "settled", "careful", "left", "silent", "lost"
OUTCOMES = {
    SETTLED: "Settled by the reply",
    CAREFUL: "Not settled: careful answer",
    LEFT: "Something else was said",
    SILENT: "No reply",
    LOST: "Cannot be followed: forgotten",
}


@dataclass(slots=True)
class Part:
    """A thing of an answer. `asked` is the rule its words named, `item` the one that decided,
    `said` the resident's words; `destination` is `None` while it is asked about. `before` are the
    containers named before the assistant asked."""

    item: str | None
    asked: str | None
    said: str
    destination: str | None
    alternatives: tuple[str, ...]
    facts: tuple[str, ...]
    unsettled: bool
    before: tuple[str, ...] = ()

    @classmethod
    def of(cls, item: Mapping[str, Any]) -> Part:
        """The part of a thing in a row of the record."""
        return cls(
            code(item.get("item")),
            code(item.get("asked")),
            str(item.get("asked_as") or ""),
            code(item.get("destination")),
            tuple(map(intern, item.get("alternatives") or ())),
            tuple(map(intern, item.get("facts") or ())),
            bool(item.get("unsettled")),
        )


def code(told: Any) -> str | None:
    """A code, kept once however many rows have it."""
    return None if told is None else intern(str(told))


@dataclass(slots=True)
class Turn:
    """A message and its answer, on its UK day."""

    day: date
    conversation: str | None
    channel: str
    demo: bool
    district: str | None
    on: str | None
    kind: str
    items: tuple[Part, ...]
    asks: dict[str, Any] | None
    meant: tuple[str, ...]


@dataclass(slots=True)
class Second:
    """A question the assistant asked, with how often it was put and what became of it.

    The day and channel are of the turn that asked first, the district of the last turn that told
    one. `condition` is what was asked first.
    """

    day: date
    channel: str
    district: str | None
    item: str | None
    condition: str
    said: str = ""
    times: int = 1
    outcome: str = SILENT
    meant: tuple[str, ...] = ()

    @classmethod
    def of(cls, turn: Turn) -> Second:
        """The question that a turn asks."""
        asks = turn.asks or {}
        said = next((i.said for i in turn.items if i.destination is None), "")
        return cls(
            turn.day,
            turn.channel,
            turn.district,
            asks.get("item"),
            str(asks.get("condition") or ""),
            said,
            meant=turn.meant,
        )

    def again(self, turn: Turn) -> bool:
        """Whether a turn asks about the same thing again."""
        return turn.asks is not None and turn.asks.get("item") == self.item

    def settled_by(self, turn: Turn) -> Part | None:
        """The thing in a turn that answers the question, if one does."""
        for part in turn.items:
            if part.destination is None:
                continue
            named = self.item is not None and self.item in (part.asked, part.item)
            same = bool(self.said) and part.said == self.said
            if named or same or self.condition in part.facts:
                return part
        return None


def followed(turns: Iterable[Turn]) -> list[Second]:
    """Every question the assistant asked. Turns come in the order in which they were made."""
    found: list[Second] = []
    open_: dict[str, Second] = {}
    for turn in turns:
        key = turn.conversation
        if key is None:
            if turn.asks:
                lost = Second.of(turn)
                lost.outcome = LOST
                found.append(lost)
            continue
        waiting = open_.get(key)
        if waiting is not None and advanced(waiting, turn):
            del open_[key]
            waiting = None
        if turn.asks and waiting is not None and waiting.again(turn):
            waiting.times += 1
        elif turn.asks:
            open_[key] = Second.of(turn)
            found.append(open_[key])
    return found


def advanced(waiting: Second, turn: Turn) -> bool:
    """Note what a turn does to an open question; whether that ends it."""
    waiting.district = turn.district or waiting.district
    part = waiting.settled_by(turn)
    if part is not None:
        waiting.outcome = CAREFUL if part.unsettled else SETTLED
        part.before = waiting.meant
        return True
    if waiting.again(turn):
        waiting.meant = waiting.meant or turn.meant
        waiting.outcome = SILENT
    else:
        waiting.outcome = LEFT
    return False
