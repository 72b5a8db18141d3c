"""The held-out conversations of `nlu_data/heldout`, and what is expected of each turn."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from bot import paths

FOLDER = paths.TRAINING / "heldout"


@dataclass(frozen=True, slots=True)
class Thing:
    """A thing expected in an answer.

    `items` are the acceptable ids of the rule files; none means that no rule may know it. `facts`
    has the acceptable values of each condition said so far. `destinations` is None while the
    question about it is open. `said` are the message's own words for it, if it names it.
    """

    items: frozenset[str]
    said: str | None
    facts: Mapping[str, frozenset[str]] = field(default_factory=dict)
    destinations: frozenset[str] | None = None


@dataclass(frozen=True, slots=True)
class Turn:
    """One message with the kinds accepted. `things` is None where they are not checked."""

    say: str
    intent: str
    kinds: frozenset[str]
    things: tuple[Thing, ...] | None


@dataclass(frozen=True, slots=True)
class Conversation:
    """One conversation. `part` names the file it stands in."""

    id: str
    part: str
    group: str
    district: str | None
    on: str
    turns: tuple[Turn, ...]


def thing(data: Mapping[str, Any]) -> Thing:
    """A thing from a line of a file."""
    dest = data["dest"]
    facts = {c: frozenset([v] if isinstance(v, str) else v) for c, v in data["facts"].items()}
    return Thing(
        frozenset(data["items"]), data["said"], facts, None if dest is None else frozenset(dest)
    )


def conversations(folder: Path = FOLDER) -> Iterator[Conversation]:
    """All held-out conversations, file by file."""
    for path in sorted(folder.glob("*.jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            c = json.loads(line)
            turns = tuple(
                Turn(
                    t["say"],
                    t["intent"],
                    frozenset(t["kind"]),
                    None if t["things"] is None else tuple(map(thing, t["things"])),
                )
                for t in c["turns"]
            )
            yield Conversation(c["id"], path.stem, c["group"], c["district"], c["on"], turns)


UNSEEN = "unseen"
"""Of parts whose names begin so only totals are shown, so that nobody mends for one message."""


def unrelated(part: str = "*", folder: Path = FOLDER) -> list[str]:
    """The messages that have nothing to do with waste, of one part or all."""
    found: list[str] = []
    for path in sorted(folder.glob(f"unrelated_{part}.txt")):
        found += [line for line in path.read_text(encoding="utf-8").split("\n") if line.strip()]
    return found
