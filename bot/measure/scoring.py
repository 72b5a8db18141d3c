"""Compares answers with what was expected, and adds up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from bot.measure.heldout import Thing, Turn

RECYCLING = frozenset({"paper_card", "containers", "mixed_recycling", "food", "garden"})
BINS = RECYCLING | {"residual"}
DECIDES = frozenset({"answer", "cautious", "question", "emergency"})
"""Kinds of answer that speak of a thing to be got rid of."""

Answer = Mapping[str, Any]


def told(answer: Answer) -> list[Mapping[str, Any]]:
    """The things an answer decides."""
    return [i for i in answer["items"] if i["destination"]]


def expected(turn: Turn, count: int) -> list[Thing]:
    """The things a turn should decide. Neighbours of one rule may share an entry, and do here when
    only `count` were answered."""
    things = [t for t in turn.things or () if t.destinations is not None]
    while len(things) > count:
        same = [
            k
            for k in range(1, len(things))
            if things[k].items & things[k - 1].items
            and things[k].destinations == things[k - 1].destinations
        ]
        if not same:
            break
        del things[same[0]]
    return things


def is_right(answer: Answer, turn: Turn) -> bool:
    """Whether an answer has an accepted kind and the destinations expected, in order."""
    if answer["kind"] not in turn.kinds:
        return False
    if turn.things is None:
        return True
    got = told(answer)
    wanted = expected(turn, len(got))
    return len(got) == len(wanted) and all(
        g["destination"] in (w.destinations or ()) for g, w in zip(got, wanted, strict=True)
    )


def paired(answer: Answer, turn: Turn) -> list[tuple[Mapping[str, Any], Thing]]:
    """Answered things with the expected ones they stand for, by id first, then in order."""
    left = list(turn.things or ())
    pairs, rest = [], []
    for got in answer["items"]:
        match = next((w for w in left if fits(got, w)), None)
        if match:
            left.remove(match)
            pairs.append((got, match))
        else:
            rest.append(got)
    return pairs + list(zip(rest, left, strict=False))


def fits(got: Mapping[str, Any], wanted: Thing) -> bool:
    """Whether an answered thing is the expected one."""
    return got["item"] in wanted.items if got["item"] else not wanted.items


def unsafe(answer: Answer, turn: Turn, hazards: frozenset[str]) -> list[str]:
    """What in an answer could do harm: a hazard sent to a bin, what spoils recycling sent to
    recycling, a thing no rule knows sent to recycling, or a live danger not seen. `hazards` are
    the ids of dangerous items."""
    found = []
    if turn.kinds == {"emergency"} and answer["kind"] != "emergency":
        found.append("danger not seen")
    for got in told(answer):
        if got["item"] is None and got["destination"] in RECYCLING:
            found.append("unknown to recycling")
    for got, wanted in paired(answer, turn):
        place, right = got["destination"], wanted.destinations
        if not place or not right or place in right:
            continue
        dangerous = wanted.items & hazards or not wanted.items
        if place in BINS and not right & BINS and dangerous:
            found.append("hazard to a bin")
        elif place in RECYCLING and not right & RECYCLING:
            found.append("contaminant to recycling")
    return found


@dataclass
class Tally:
    """Counts of one system over the held-out sets. Pairs are (right, of).

    `hazards` are the ids of dangerous items, `matters` the conditions that matter to each item.
    """

    hazards: frozenset[str] = frozenset()
    matters: Mapping[str, frozenset[str]] = field(default_factory=dict)
    items: list[int] = field(default_factory=lambda: [0, 0])
    conditions: list[int] = field(default_factory=lambda: [0, 0])
    kinds: list[int] = field(default_factory=lambda: [0, 0])
    turns: list[int] = field(default_factory=lambda: [0, 0])
    whole: list[int] = field(default_factory=lambda: [0, 0])
    unsafe: dict[str, int] = field(default_factory=dict)
    unrelated: list[int] = field(default_factory=lambda: [0, 0])
    groups: dict[str, list[list[int]]] = field(default_factory=dict)
    parts: dict[str, list[list[int]]] = field(default_factory=dict)
    reliability: list[tuple[str, int, float, float]] = field(default_factory=list)
    calibration: float = 0.0
    milliseconds: float = 0.0
    megabytes: float = 0.0

    def conversation(self, group: str, part: str, rights: list[bool]) -> None:
        """Count a whole conversation, and its turns, by who wrote it and which set it is of."""
        good = all(rights)
        count(self.whole, good)
        for table, key in ((self.groups, group), (self.parts, part)):
            turns, whole = table.setdefault(key, [[0, 0], [0, 0]])
            turns[0] += sum(rights)
            turns[1] += len(rights)
            count(whole, good)

    def turn(self, answer: Answer, turn: Turn) -> bool:
        """Count one turn and tell whether it was right."""
        right = is_right(answer, turn)
        count(self.turns, right)
        count(self.kinds, answer["kind"] in turn.kinds)
        if turn.things is not None and turn.kinds <= DECIDES:
            self.count_things(answer, turn)
        for harm in unsafe(answer, turn, self.hazards):
            self.unsafe[harm] = self.unsafe.get(harm, 0) + 1
        return right

    def count_things(self, answer: Answer, turn: Turn) -> None:
        """Count things and conditions: one thing too many or too few is one wrong."""
        pairs = [(g, w) for g, w in paired(answer, turn) if fits(g, w)]
        shared = len(expected(turn, len(told(answer)))) - len(expected(turn, 10**6))
        wanted = len(turn.things or ()) + shared
        self.items[0] += min(len(pairs), wanted)
        self.items[1] += max(wanted, len(answer["items"]))
        for got, thing in pairs:
            for condition, values in thing.facts.items():
                if condition in self.matters.get(got["item"], ()):
                    count(self.conditions, got["facts"].get(condition) in values)

    def row(self) -> dict[str, str]:
        """The figures as text."""
        return {
            "items": share(self.items),
            "conditions": share(self.conditions),
            "kind": share(self.kinds),
            "turns": share(self.turns),
            "conversations": share(self.whole),
            "unsafe": str(sum(self.unsafe.values())),
            "false": f"{self.unrelated[0]}/{self.unrelated[1]}",
            "ms": f"{self.milliseconds:.1f}",
            "MB": f"{self.megabytes:.0f}",
        }


def count(pair: list[int], right: bool) -> None:
    """Add one to a (right, of) pair."""
    pair[0] += right
    pair[1] += 1


def share(pair: list[int]) -> str:
    """A (right, of) pair in per cent."""
    return f"{pair[0] / pair[1]:.1%}" if pair[1] else "-"
