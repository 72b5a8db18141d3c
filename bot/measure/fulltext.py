"""A plain full-text search over item names (SQLite FTS5, ranked by bm25), for comparison.

It answers each message by itself with the rule of the best match, and asks what that rule asks.
"""

from __future__ import annotations

import re
import sqlite3
from datetime import date
from typing import Any

from rules import Decision, decide
from rules.model import Book


class FullText:
    """An index of every name in a rule book."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.index = sqlite3.connect(":memory:")
        self.index.execute(
            "CREATE VIRTUAL TABLE names"
            " USING fts5(name, item UNINDEXED, tokenize='porter unicode61')"
        )
        rows = [(name, i.id) for i in book.items.values() for name in (i.name, *i.also)]
        self.index.executemany("INSERT INTO names VALUES (?, ?)", rows)

    def answer(self, message: str, district: str | None, on: date) -> dict[str, Any]:
        """The answer to a message, as far as the contract's fields are compared."""
        words = re.findall(r"\w+", message.lower())
        query = " OR ".join(f'"{w}"' for w in words)
        found = (
            self.index.execute(
                "SELECT item FROM names WHERE names MATCH ? ORDER BY bm25(names) LIMIT 1", (query,)
            ).fetchone()
            if query
            else None
        )
        if found is None:
            return {"kind": "unclear", "items": []}
        result = decide(self.book, district, on, found[0], {})
        place = result.destination if isinstance(result, Decision) else None
        kind = "answer" if place else "question"
        if place == "emergency":
            kind = "emergency"
        return {"kind": kind, "items": [{"item": found[0], "destination": place, "facts": {}}]}
