"""Finds the rule that an answer names, and its own lines in the file as it stood then."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from rules.model import Book, Place, Table

ROW = re.compile(r"(?P<file>[^:]+): (?P<table>.+), row (?P<row>[0-9]+)(?P<more>, .+)?")
SHOWN = 25
"""Lines of a rule that are shown at most."""


@dataclass(frozen=True, slots=True)
class Passage:
    """Where a rule stands and its lines."""

    file: str
    line: int
    text: str


def place(book: Book, rule: str) -> Place | None:
    """Where a rule stands in a book, `None` if it is not there."""
    match = ROW.fullmatch(rule)
    if match:
        for table in tables(book):
            if table.where.file == match["file"] and table.name == match["table"]:
                number = int(match["row"]) - 1
                return table.rows[number].where if number < len(table.rows) else None
        return None
    file, _, what = rule.partition(": ")
    if what == "fallback":
        return book.fallback.where
    name = what.partition(",")[0]
    for there in (book.signs.get(name), book.dangers.get(name)):
        if there and there.where.file == file:
            return there.where
    item = book.items.get(name)
    return item.where if item and item.where.file == file else None


def tables(book: Book) -> list[Table]:
    """Every decision table of a book."""
    of_items = [t for i in book.items.values() for t in (i.table, *i.overrides.values())]
    return [*book.tables.values(), *of_items]


def passage(book: Book, texts: Mapping[str, str], rule: str) -> Passage | None:
    """The lines of a rule in the files of its book, `None` if it is not there."""
    found = place(book, rule)
    if found is None or found.file not in texts:
        return None
    return Passage(found.file, found.line, entry(texts[found.file], found.line))


def entry(text: str, line: int) -> str:
    """The entry of a YAML text that begins in a line: to the next one of the same depth."""
    lines = text.splitlines()
    if not 0 < line <= len(lines):
        return ""
    first = lines[line - 1]
    depth = len(first) - len(first.lstrip())
    kept = [first]
    for further in lines[line : line - 1 + SHOWN]:
        if further.strip() and len(further) - len(further.lstrip()) <= depth:
            break
        kept.append(further)
    while kept and not kept[-1].strip():
        kept.pop()
    return "\n".join(one[depth:] for one in kept)
