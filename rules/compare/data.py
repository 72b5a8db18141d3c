"""A comparison as plain data, in the shape of `comparison.schema.json`."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from rules.compare.answers import Goes
from rules.compare.cases import Box
from rules.compare.groups import AnswerChange
from rules.compare.runs import Found, Span
from rules.compare.words import Words
from rules.model import DISTRICT

if TYPE_CHECKING:
    from rules.compare.comparison import Comparison


def as_json(told: Comparison) -> dict[str, Any]:
    """The whole comparison."""
    words = Words(told.old, told.new)
    return {
        "old": {"book": told.old.version, "on": iso(told.old_on)},
        "new": {"book": told.new.version, "on": iso(told.new_on)},
        "since": iso(told.since),
        "same": not told,
        "containers": [
            {
                "district": c.district,
                "stream": c.stream,
                "old": c.old,
                "new": c.new,
                **span(c.span),
                "say": c.say,
            }
            for c in told.containers
        ],
        "answers": [answer(one, words) for one in told.answers],
        "entries": [
            {
                "section": e.section,
                "id": e.id,
                "name": e.name,
                "what": e.what,
                "field": e.field,
                "old": e.old,
                "new": e.new,
                "say": e.say,
            }
            for e in told.entries
        ],
        "announced": [
            {"id": c.id, "on": c.on.isoformat(), "districts": list(c.districts), "say": c.answer}
            for c in told.announced
        ],
    }


def iso(day: date | None) -> str | None:
    """A day as JSON has it."""
    return day.isoformat() if day else None


def span(days: Span) -> dict[str, str | None]:
    """From when until when."""
    return {"from": iso(days.start), "until": iso(days.end)}


def answer(one: AnswerChange, words: Words) -> dict[str, Any]:
    """One change of answers, with those that go with it."""
    return {
        "aspect": one.aspect,
        **span(one.span),
        "districts": [district(one.aspect, found, words) for found in one.items[0].found],
        "items": [
            {
                "old": item.ids[0],
                "new": item.ids[1],
                "name": item.name,
                "cases": [[cases(box) for box in found.exact] for found in item.found],
            }
            for item in one.items
        ],
        "say": one.say,
        "details": [answer(detail, words) for detail in one.details],
    }


def district(aspect: str, found: Found, words: Words) -> dict[str, Any]:
    """The old and the new value in one district."""
    return {
        "district": found.district,
        "old": value(aspect, found.old, found.names[0], words),
        "new": value(aspect, found.new, found.names[1], words),
    }


def cases(box: Box) -> dict[str, list[str]]:
    """Conditions and the values each may have."""
    return {c: list(values) for c, values in box}


def value(aspect: str, told: Any, names: tuple[str, ...], words: Words) -> Any:
    """One value of an aspect."""
    if told is None:
        return None
    if isinstance(told, Goes):
        return {"destination": told.code, "containers": list(names)}
    if aspect == "question":
        condition, values = told
        return {
            "condition": condition,
            "text": None if condition == DISTRICT else words.conditions[condition].question,
            "options": [{"value": v, "label": words.label(condition, v)} for v in values],
        }
    if aspect == "assumed":
        return dict(told)
    return list(told) if isinstance(told, tuple) else told
