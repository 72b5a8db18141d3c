"""Follows a conversation from a question the assistant asked to what became of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
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
class Turn:
    """A message and its answer, on its UK day. `before` has, by the number of a thing, the
    containers that were named before the assistant asked about it."""

    day: date
    conversation: str | None
    channel: str
    demo: bool
    district: str | None
    on: str | None
    kind: str
    items: list[dict[str, Any]]
    asks: dict[str, Any] | None
    meant: tuple[str, ...]
    before: dict[int, tuple[str, ...]] = field(default_factory=dict)


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
        waiting = [i for i in turn.items if i.get("destination") is None]
        said = next((str(i.get("asked_as") or "") for i in waiting), "")
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

    def settled_by(self, turn: Turn) -> int | None:
        """The number of the thing in a turn that answers the question, if one does."""
        for number, item in enumerate(turn.items):
            if item.get("destination") is None:
                continue
            named = self.item is not None and self.item in (item.get("asked"), item.get("item"))
            same = bool(self.said) and item.get("asked_as") == self.said
            if named or same or self.condition in (item.get("facts") or {}):
                return number
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
    number = waiting.settled_by(turn)
    if number is not None:
        item = turn.items[number]
        waiting.outcome = CAREFUL if item.get("unsettled") else SETTLED
        turn.before[number] = waiting.meant
        return True
    if waiting.again(turn):
        waiting.meant = waiting.meant or turn.meant
        waiting.outcome = SILENT
    else:
        waiting.outcome = LEFT
    return False
