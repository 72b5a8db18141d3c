"""What the language pipeline understood of one message, as plain data."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Named:
    """A thing named in a message, by its rule or (`item` None) in words no rule knows."""

    item: str | None
    said: str
    facts: Mapping[str, str] = field(default_factory=dict)
    generic: bool = False
    start: int = 0
    english: bool = True
    article: bool = False
    alone: bool = False
    placed: bool = False
    common: bool = False
    end: int = 0


@dataclass(frozen=True, slots=True)
class Fact:
    """A condition stated. `loose` ones belong to no thing of the message."""

    condition: str
    value: str
    loose: bool
    inside: bool
    start: int = 0


@dataclass(frozen=True, slots=True)
class Understanding:
    """One message as understood.

    `outside` is how likely it is off topic.
    `guesses` has the likely answer to each condition's question, with its probability, where the
    message has none of its phrases. `days` may hold year 0000 for a year nobody named, `manners`
    are those of `bot/language/manner.py` and `pointing.py`.
    """

    text: str
    intent: str
    confidence: float
    things: tuple[Named, ...]
    unknown: tuple[Named, ...]
    facts: tuple[Fact, ...]
    signs: tuple[tuple[str, int], ...]
    marks: tuple[Named, ...]
    districts: tuple[str, ...]
    containers: tuple[tuple[str, str], ...]
    centres: tuple[str, ...]
    days: tuple[str, ...]
    dangers: tuple[tuple[str, str], ...]
    dangers_of_last: tuple[tuple[str, str], ...]
    declines: tuple[str, ...]
    topics: tuple[tuple[str, float], ...]
    manners: frozenset[str] = frozenset()
    outside: float = 0.0
    guesses: Mapping[str, tuple[str, float]] = field(default_factory=dict)

    @property
    def loose(self) -> dict[str, str]:
        """Conditions stated of no thing in particular."""
        return {f.condition: f.value for f in self.facts if f.loose and not f.inside}


def apart(facts: Mapping[str, str], told: Mapping[str, list[str]]) -> Iterator[Mapping[str, str]]:
    """The conditions of each of several things of one name, where one is told to be so and another
    otherwise ("two cans, one empty, one half full"); else those of the one there is."""
    different = {c: list(dict.fromkeys(v)) for c, v in told.items() if len(set(v)) > 1}
    if len(different) != 1:
        yield facts
        return
    for condition, values in different.items():
        for value in values:
            yield {**facts, condition: value}


def from_message(message: Mapping[str, Any]) -> Understanding:
    """Read the framework's `latest_message`.

    Of one condition stated twice for a thing what is said counts before what is denied, and the
    last before an earlier one.
    """
    entities = message.get("entities") or []

    def said(entity: Mapping[str, Any]) -> str:
        return "".join(c if c.isprintable() else " " for c in str(entity.get("said", ""))).strip()

    def of(kind: str) -> list[Mapping[str, Any]]:
        return [e for e in entities if e.get("entity") == kind]

    facts_by_group: dict[str, dict[str, str]] = {}
    told: dict[str, dict[str, list[str]]] = {}
    facts = []
    for e in sorted(of("fact"), key=lambda e: not e.get("negated")):
        groups = [g for g in str(e.get("group") or "").split(",") if g]
        for g in groups:
            facts_by_group.setdefault(g, {})[e["role"]] = e["value"]
            if not e.get("negated"):
                told.setdefault(g, {}).setdefault(e["role"], []).append(e["value"])
        inside = bool(e.get("inside"))
        facts.append(Fact(e["role"], e["value"], not groups, inside, int(e.get("start", 0))))
    parted = "parting" in {e["value"] for e in of("manner")}
    things = tuple(
        Named(
            item=e["value"],
            said=said(e),
            facts=own,
            generic=bool(e.get("generic")),
            start=int(e.get("start", 0)),
            placed=bool(e.get("placed")),
            common=bool(e.get("common")),
            end=int(e.get("end", 0)),
        )
        for e in of("item")
        for own in apart(
            facts_by_group.get(str(e.get("group")), {}),
            told.get(str(e.get("group")), {}) if parted else {},
        )
    )
    unknown = tuple(
        Named(
            item=None,
            said=said(e),
            start=int(e.get("start", 0)),
            english=bool(e.get("english")),
            article=bool(e.get("article")),
            alone=bool(e.get("alone")),
        )
        for e in of("unknown")
    )
    marks = tuple(Named(e["value"], said(e), start=int(e["start"])) for e in of("mark"))
    intent = message.get("intent") or {}
    ranked = {r["name"]: float(r["confidence"]) for r in message.get("intent_ranking") or []}
    return Understanding(
        text=str(message.get("text") or ""),
        intent=str(intent.get("name") or ""),
        confidence=float(intent.get("confidence") or 0.0),
        things=things,
        unknown=unknown,
        facts=tuple(facts),
        signs=tuple((e["value"], int(e["start"])) for e in of("sign")),
        marks=marks,
        districts=tuple(dict.fromkeys(e["value"] for e in of("district"))),
        containers=tuple((e["value"], e.get("role") or "") for e in of("container")),
        centres=tuple(e["value"] for e in of("centre")),
        days=tuple(e["value"] for e in of("day")),
        dangers=tuple((e["value"], said(e)) for e in of("danger")),
        dangers_of_last=tuple((e["value"], said(e)) for e in of("danger_of_last")),
        declines=tuple(dict.fromkeys(e["value"] for e in of("decline"))),
        manners=frozenset(e["value"] for e in of("manner")),
        outside=ranked.get("off_topic", 0.0),
        guesses={e["role"]: (e["value"], float(e["confidence_entity"])) for e in of("guess")},
        topics=tuple((e["value"], float(e["confidence_entity"])) for e in of("topic")),
    )
