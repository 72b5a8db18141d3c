"""Whether a rule book lets residents recycle at home all that the law says must be collected.

A statute file lists duties: a kind of waste, the day it begins, items of the book that stand for
it, and the containers that count. A duty is met when each item, clean, empty and whole, goes to
one of those containers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path as FilePath
from types import MappingProxyType
from typing import Any

import jsonschema

from rules.decide import Leaf, RuleGap, leaves
from rules.loader import BookError
from rules.model import Book, Place
from rules.shapes import explain, nearest
from rules.yamlfile import Document, Mistake, parse

ENGLAND = FilePath(__file__).parent / "statute" / "england.yml"

KERBSIDE = ("paper_card", "containers", "mixed_recycling", "food", "garden")
"""Destination codes that count as collecting for recycling from the home."""

_TEXT = {"type": "string", "minLength": 1}
_ID = {"type": "string", "pattern": "^[a-z][a-z0-9_]*$"}
_DAY = {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$"}


def _block(required: dict[str, Any], optional: dict[str, Any] | None = None) -> dict[str, Any]:
    return {
        "type": "object",
        "additionalProperties": False,
        "required": list(required),
        "properties": {**required, **(optional or {})},
    }


def _named(entry: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "propertyNames": _ID,
        "minProperties": 1,
        "additionalProperties": entry,
    }


SCHEMA = _block(
    {
        "about": _TEXT,
        "owner": _TEXT,
        "reviewed": _DAY,
        "law": _TEXT,
        "duties": _named(
            _block(
                {
                    "stream": _TEXT,
                    "material": _TEXT,
                    "from": _DAY,
                    "allowed": {"type": "array", "minItems": 1, "items": {"enum": list(KERBSIDE)}},
                    "items": {"type": "array", "minItems": 1, "items": _ID},
                    "source": _TEXT,
                },
                {"given": {"type": "object", "propertyNames": _ID, "additionalProperties": _ID}},
            )
        ),
    },
    {"not_in_stream": _named(_block({"stream": _TEXT, "what": _TEXT, "source": _TEXT}))},
)


@dataclass(frozen=True, slots=True)
class Duty:
    """One kind of waste that must be collected from `start` on.

    `given` are facts about the thing as the law means it (an aerosol that is empty, say); they
    count with those items that know the condition.
    """

    id: str
    stream: str
    material: str
    start: date
    allowed: tuple[str, ...]
    items: tuple[str, ...]
    given: Mapping[str, str]
    source: str
    where: Place


@dataclass(frozen=True, slots=True)
class Outside:
    """Something the law leaves out of a stream. A council may still take it."""

    id: str
    stream: str
    what: str
    source: str
    where: Place


@dataclass(frozen=True, slots=True)
class Statute:
    """What must be collected from households, and what need not be."""

    law: str
    reviewed: date
    duties: tuple[Duty, ...]
    not_in_stream: tuple[Outside, ...]
    file: str


@dataclass(frozen=True, slots=True)
class Finding:
    """A duty that one district does not meet on one day, by one item."""

    district: str
    day: date
    duty: str
    item: str
    instead: str
    cure: str
    where: Place

    def __str__(self) -> str:
        return (
            f"{self.where}: {self.district} on {self.day}: duty '{self.duty}', "
            f"item '{self.item}': {self.instead}. {self.cure}"
        )


@cache
def _validator() -> jsonschema.Draft7Validator:
    return jsonschema.Draft7Validator(SCHEMA)


def load_statute(path: FilePath = ENGLAND) -> Statute:
    """Read a statute file.

    Raises `BookError`, naming every mistake with its file, its line and a cure.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        wrong = Mistake(path.name, 1, "not saved as UTF-8", "Save it again as UTF-8")
        raise BookError([wrong]) from None
    except OSError as error:
        wrong = Mistake(
            str(path), 1, f"cannot be read: {error.strerror}", "Check its name and rights"
        )
        raise BookError([wrong]) from None
    return load_statute_text(path.name, text)


def load_statute_text(name: str, text: str) -> Statute:
    """Read a statute from a file's text. Raises `BookError` as `load_statute` does."""
    document, mistakes = parse(name, text)
    if not mistakes:
        for error in _validator().iter_errors(document.data):
            mistakes += _explained(document, error)
    if not mistakes:
        mistakes += _wrong_values(document)
    if mistakes:
        raise BookError(mistakes)
    data = document.data
    return Statute(
        law=data["law"],
        reviewed=date.fromisoformat(data["reviewed"]),
        duties=tuple(_duty(document, key, entry) for key, entry in data["duties"].items()),
        not_in_stream=tuple(
            Outside(key, entry["stream"], entry["what"], entry["source"], _place(document, key))
            for key, entry in (data.get("not_in_stream") or {}).items()
        ),
        file=name,
    )


def _explained(document: Document, error: jsonschema.ValidationError) -> list[Mistake]:
    if error.validator == "minProperties":
        line = document.line(tuple(error.absolute_path))
        return [Mistake(document.file, line, "no entry here", "Add one, or remove the heading")]
    return explain(document, error)


def _place(document: Document, key: str) -> Place:
    section = "duties" if ("duties", key) in document.lines else "not_in_stream"
    return Place(document.file, document.line((section, key)))


def _duty(document: Document, key: str, entry: Mapping[str, Any]) -> Duty:
    return Duty(
        id=key,
        stream=entry["stream"],
        material=entry["material"],
        start=date.fromisoformat(entry["from"]),
        allowed=tuple(entry["allowed"]),
        items=tuple(entry["items"]),
        given=MappingProxyType(dict(entry.get("given") or {})),
        source=entry["source"],
        where=_place(document, key),
    )


def _wrong_values(document: Document) -> list[Mistake]:
    """Dates that are not in the calendar and items listed twice under one duty."""
    found: list[Mistake] = []

    def wrong(what: str, cure: str, *path: str | int) -> None:
        found.append(Mistake(document.file, document.line(path), what, cure))

    days: list[tuple[str, tuple[str, ...]]] = [(document.data["reviewed"], ("reviewed",))]
    for key, entry in document.data["duties"].items():
        days.append((entry["from"], ("duties", key, "from")))
        for i, item in enumerate(entry["items"]):
            if item in entry["items"][:i]:
                wrong(f"'{item}' is listed twice in '{key}'", "Keep one", "duties", key, "items", i)
    for day, path in days:
        try:
            date.fromisoformat(day)
        except ValueError:
            wrong(f"there is no day {day}", "Check the date", *path)
    return found


def check_days(book: Book, statute: Statute) -> tuple[date, ...]:
    """Days on which a duty, or what the book does about it, can change."""
    starts = book.scheme.starts
    days = {starts, *book.turning_days(), *(duty.start for duty in statute.duties)}
    return tuple(sorted(d for d in days if d >= starts))


def check_statute(book: Book, statute: Statute) -> list[Finding]:
    """Every duty that is not met, for each district and each day that can change it.

    Nothing is checked before the scheme starts. Names in the statute that the book does not know
    are findings, too.
    """
    found = []
    for day in check_days(book, statute):
        for district in book.districts:
            for duty in statute.duties:
                if duty.start <= day:
                    found += _unmet(book, duty, district, day)
    return found


def _unmet(book: Book, duty: Duty, district: str, day: date) -> list[Finding]:
    found = []

    def finding(item: str, instead: str, cure: str) -> None:
        found.append(Finding(district, day, duty.id, item, instead, cure, duty.where))

    for condition, value in duty.given.items():
        known = book.conditions.get(condition)
        if known is None or value not in known.values:
            cure = nearest(value, known.values) if known else nearest(condition, book.conditions)
            cure = cure or "Correct 'given' in the statute file"
            finding("", f"the rule book has no condition '{condition}: {value}'", cure)
    for item in duty.items:
        if item not in book.items:
            hint = nearest(item, book.items)
            cure = f"Add a rule for it, or correct the id in the statute file. {hint}".strip()
            finding(item, "the rule book has no such item", cure)
            continue
        try:
            possible = leaves(book, district, day, item, duty.given, frozenset())
        except RuleGap as gap:
            cure = "Give that case exactly one row in the item's table"
            finding(item, f"its table does not decide ({gap})", cure)
            continue
        if not any(_collected(leaf, duty) for leaf in possible):
            goes = " or ".join(dict.fromkeys(_said(leaf) for leaf in possible))
            where = book.items[item].where
            cure = (
                f"Send it to {' or '.join(duty.allowed)} ({where}), and check that a container "
                f"of {district} takes it that day"
            )
            finding(item, f"goes to {goes}", cure)
    return found


def _collected(leaf: Leaf, duty: Duty) -> bool:
    """A stream without a container keeps its name as the code, so the code is not enough."""
    return leaf.decision.destination in duty.allowed and leaf.decision.container is not None


def _said(leaf: Leaf) -> str:
    decision = leaf.decision
    if decision.container is None and decision.stream is not None:
        return f"the stream '{decision.stream}', which has no container"
    return decision.destination
