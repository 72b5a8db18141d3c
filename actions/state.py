"""What the assistant remembers of a conversation between two messages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import date
from typing import Any


@dataclass(frozen=True, slots=True)
class Thing:
    """A thing asked about, with all that has been said of it.

    `tries` counts how often its open question was put; `given_up` are conditions no longer asked.
    """

    item: str | None
    said: str
    on: str
    district: str | None = None
    facts: Mapping[str, str] = field(default_factory=dict)
    ruled_out: tuple[str, ...] = ()
    given_up: tuple[str, ...] = ()
    sign: str | None = None

    @property
    def day(self) -> date:
        """The day the answer is for."""
        return date.fromisoformat(self.on)

    def told(self, facts: Mapping[str, str]) -> Thing:
        """The same thing with more said of it."""
        return replace(self, facts={**self.facts, **facts})


@dataclass(frozen=True, slots=True)
class State:
    """A conversation's memory: things waiting for an answer (the first is being asked about),
    things answered last, the district named, and the readings offered of the last message."""

    waiting: tuple[Thing, ...] = ()
    last: tuple[Thing, ...] = ()
    condition: str | None = None
    tries: int = 0
    district: str | None = None
    channel_district: str | None = None
    said: str = ""
    offered: tuple[Thing, ...] = ()

    def to_slot(self) -> dict[str, Any]:
        """As plain data, for a slot."""
        return asdict(self)

    @classmethod
    def from_slot(cls, data: Mapping[str, Any] | None) -> State:
        """From a slot's data; anything that does not fit starts afresh."""
        try:
            fields = dict(data or {})
            for name in ("waiting", "last", "offered"):
                fields[name] = tuple(thing(t) for t in fields.get(name) or ())
            return cls(**fields)
        except (TypeError, KeyError, ValueError):
            return cls()


def thing(data: Mapping[str, Any]) -> Thing:
    """A thing from plain data."""
    return Thing(
        **{**data, "ruled_out": tuple(data["ruled_out"]), "given_up": tuple(data["given_up"])}
    )
