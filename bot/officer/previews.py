"""Conversations that an officer tries: what was asked as if on a day, and what came back."""

from __future__ import annotations

import re
import secrets
from collections import OrderedDict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from actions.phrases import capital
from rules.model import Book

START = "preview-"
"""What the sender's name of a tried conversation starts with."""
MOST = 200
"""Conversations that are kept. They are in memory only, and gone with the program."""
TURNS = 40
"""Turns of one that are shown."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One question and its reply. `understood` are names and values to show."""

    question: str
    on: date
    district: str | None
    short: bool
    text: str
    options: tuple[str, ...]
    kind: str
    understood: tuple[tuple[str, str], ...]
    things: tuple[Mapping[str, Any], ...]


@dataclass(slots=True)
class Preview:
    """A conversation that one person tries."""

    id: str
    by: str
    turns: list[Turn] = field(default_factory=list)


class Previews:
    """The conversations tried last."""

    def __init__(self) -> None:
        self.kept: OrderedDict[str, Preview] = OrderedDict()

    def get(self, id: str, by: str) -> Preview | None:
        """A conversation of this person."""
        found = self.kept.get(id)
        return found if found and found.by == by else None

    def start(self, by: str) -> Preview:
        """A new one."""
        made = Preview(START + secrets.token_hex(12), by)
        self.kept[made.id] = made
        while len(self.kept) > MOST:
            self.kept.popitem(last=False)
        return made

    def add(self, preview: Preview, turn: Turn) -> None:
        """Add a turn; the first ones of a long conversation are no longer shown."""
        preview.turns.append(turn)
        del preview.turns[:-TURNS]
        self.kept[preview.id] = preview
        self.kept.move_to_end(preview.id)


def thing(book: Book, told: Mapping[str, Any], led: Mapping[str, Any]) -> dict[str, Any]:
    """One thing of a reply as the page shows it: `told` by the contract, `led` by the record."""
    facts = {**(told.get("facts") or {}), **(led.get("facts") or {})}
    assumed = [c for c in led.get("assumed") or [] if c in facts]
    code = told.get("destination")
    item = told.get("item")
    file, line = place_of(book, told)
    return {
        "asked_as": told.get("asked_as") or "",
        "name": capital(book.items[item].name) if item in book.items else None,
        "facts": [label(book, c, v) for c, v in facts.items() if c not in assumed],
        "assumed": [label(book, c, facts[c]) for c in assumed],
        "unsettled": [question(book, c) for c in led.get("unsettled") or []],
        "goes": book.destinations[code].name if code in book.destinations else code,
        "container": told.get("container"),
        "others": [book.destinations[a].name for a in told.get("alternatives") or []],
        "rule": told.get("rule"),
        "file": file,
        "line": line,
        "source": told.get("source"),
    }


def label(book: Book, condition: str, value: str) -> tuple[str, str]:
    """A condition's question and the answer."""
    known = book.conditions.get(condition)
    found = known.values.get(value) if known else None
    return question(book, condition), found.label if found else value


def question(book: Book, condition: str) -> str:
    """A condition's question about no thing in particular."""
    known = book.conditions.get(condition)
    return known.short.replace("{item}", "item") if known else condition


def place_of(book: Book, told: Mapping[str, Any]) -> tuple[str | None, int | None]:
    """Where the rule that decided stands: file and line, as far as its words tell."""
    found = re.match(r"(?P<file>[^:]+): (?P<table>.+?), row (?P<row>\d+)", told.get("rule") or "")
    if found is None:
        file = (told.get("rule") or "").split(":")[0]
        return (file, None) if file in {f.path for f in book.files} else (None, None)
    for row in rows_named(book, found["file"], found["table"]):
        if row[0] == int(found["row"]):
            return found["file"], row[1]
    return found["file"], None


def rows_named(book: Book, file: str, table: str) -> Iterator[tuple[int, int]]:
    """Number and line of each row of a table."""
    for item in book.items.values():
        for one in (item.table, *item.overrides.values()):
            if (one.where.file, one.name) == (file, table):
                yield from ((n, row.where.line) for n, row in enumerate(one.rows, 1))
                return
