"""A reply before it is worded: what kind it is, what it decides, what it asks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from actions.state import Thing
from rules import Decision
from rules.model import DISTRICT, Book


@dataclass(frozen=True, slots=True)
class Answered:
    """A thing and what was decided, `None` while its question is open."""

    thing: Thing
    decision: Decision | None


@dataclass(frozen=True, slots=True)
class Asked:
    """The one question of a reply. `again` says that it is put in other words."""

    thing: Thing
    condition: str
    values: tuple[str, ...]
    again: bool = False


@dataclass(frozen=True, slots=True)
class Reply:
    """What to tell the resident. `parts` name wordings and the words to fill them with,
    `offers` readings of the message to choose from."""

    kind: str
    items: tuple[Answered, ...] = ()
    asks: Asked | None = None
    parts: tuple[tuple[str, Mapping[str, str]], ...] = ()
    district: str | None = None
    on: date = field(default_factory=date.today)
    focus: str = ""
    offers: tuple[str, ...] = ()


def options(book: Book, asked: Asked) -> list[dict[str, str]]:
    """The answers to choose from, as value and label."""
    if asked.condition == DISTRICT:
        return [{"value": d, "label": book.districts[d].name} for d in asked.values]
    values = book.conditions[asked.condition].values
    return [{"value": v, "label": values[v].label} for v in asked.values]


def contract(book: Book, reply: Reply) -> dict[str, Any]:
    """The machine-readable answer, as `answer.schema.json` beside this file describes it."""
    asks = None
    if reply.asks:
        asks = {
            "item": reply.asks.thing.item,
            "condition": reply.asks.condition,
            "options": options(book, reply.asks),
        }
    return {
        "kind": reply.kind,
        "district": reply.district,
        "on": reply.on.isoformat(),
        "items": [entry(a) for a in reply.items],
        "asks": asks,
    }


def entry(answered: Answered) -> dict[str, Any]:
    """One thing of the machine-readable answer."""
    thing, decision = answered.thing, answered.decision
    facts = {k: v for k, v in thing.facts.items() if k != DISTRICT}
    if decision is None:
        return {
            "item": thing.item,
            "asked_as": thing.said,
            "facts": facts,
            "destination": None,
            "container": None,
            "alternatives": [],
            "prepare": [],
            "why": None,
            "caution": None,
            "rule": None,
            "source": None,
        }
    return {
        "item": decision.item,
        "asked_as": thing.said,
        "facts": {k: v for k, v in decision.facts.items() if k not in decision.assumed},
        "destination": decision.destination,
        "container": decision.container,
        "alternatives": list(decision.alternatives),
        "prepare": list(decision.prepare),
        "why": decision.why,
        "caution": decision.caution,
        "rule": decision.rule,
        "source": decision.source,
    }
