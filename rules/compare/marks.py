"""Whether a book can say anything else of an item than another book, without asking it all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from rules.decide import place
from rules.model import Book, Row, Table


@dataclass(frozen=True, slots=True)
class Mark:
    """What decides an answer, and what words it. Items in other places of a file are equal."""

    shape: Any
    texts: Any


class Marks:
    """The marks of a book's items. Each part is made once."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.marks: dict[tuple[str, str, date], Mark] = {}
        self.rows: dict[tuple[int, date], tuple[Any, Any, tuple[Row, ...]]] = {}
        self.places: dict[tuple[str, str, date], Any] = {}

    def mark(self, item: str, district: str, day: date) -> Mark:
        """Something that is equal for two books only if they say the same of an item."""
        key = item, district, day
        if key not in self.marks:
            self.marks[key] = self.marked(item, district, day)
        return self.marks[key]

    def marked(self, item: str, district: str, day: date) -> Mark:
        """The rows that hold for an item and those they point to, and where they lead."""
        names, shapes, texts = [item], [], []
        goes: dict[str, Any] = {}
        for name in names:
            thing = self.book.items[name]
            table = thing.table_for(district)
            shape, text, rows = self.content(table, day)
            hazard = thing.hazard or table.hazard
            tables = (thing.table, *thing.overrides.values())
            hints = tuple(tuple(t.cautious.items()) for t in tables)
            shapes.append((name, shape, hazard, hints))
            texts.append((text, self.book.dangers[hazard].never if hazard else None))
            for row in rows:
                if row.see and row.see not in names:
                    names.append(row.see)
                for code in (row.goes, *row.alternatives):
                    if code and code not in goes:
                        goes[code] = self.place(district, code, day)
        return Mark((tuple(shapes), tuple(sorted(goes.items()))), tuple(texts))

    def content(self, table: Table, day: date) -> tuple[Any, Any, tuple[Row, ...]]:
        """What a table decides on a day, what it says of that, and the rows that hold then."""
        key = id(table), day
        if key not in self.rows:
            rows = tuple(r for r in table.rows if r.period.holds(day))
            values = self.book.conditions
            shape = (
                tuple(table.ask.items()),
                tuple((c, v, tuple(values[c].values)) for c, v in table.assume.items()),
                tuple(structure(row) for row in rows),
            )
            said = (table.because, table.prepare, table.why, table.caution, table.source)
            self.rows[key] = shape, (said, tuple(texts_of(row) for row in rows)), rows
        return self.rows[key]

    def place(self, district: str, goes: str, day: date) -> Any:
        """Where a row's `goes` leads, with the ranks that the careful answer goes by."""
        key = district, goes, day
        if key not in self.places:
            code, name, _ = place(self.book, district, goes, day)
            found = self.book.destinations.get(code)
            self.places[key] = (code, name, found.care, found.spoils) if found else (code, name)
        return self.places[key]


def structure(row: Row) -> Any:
    """When a row holds and where it leads, but for its days."""
    when = tuple(sorted((c, tuple(sorted(v))) for c, v in row.when.items()))
    return when, row.goes, row.see, row.alternatives


def texts_of(row: Row) -> Any:
    """What a row says, and whether it drops the caution of a danger."""
    return row.prepare, row.why, row.caution, bool(row.safe_because), row.source
