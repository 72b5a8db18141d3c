"""The record in the conversations' file."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from bot.record.entry import TABLE, Entry, from_row, to_row
from bot.storage import with_tables

FILE = "conversations.db"


def add(connection: sa.engine.Connection, rows: Iterable[dict[str, Any]]) -> None:
    """Add rows within the caller's transaction."""
    made = [to_row(row) for row in rows]
    if made:
        connection.execute(TABLE.insert(), made)


class Record:
    """Reads the record of a data folder. Calls may come from any thread."""

    def __init__(self, data: Path) -> None:
        self.engine = with_tables(data / FILE, TABLE.metadata, shared=True)

    def between(self, start: date, end: date, demo: bool | None = None) -> list[Entry]:
        """The turns of some days (UTC, both included), oldest first; `demo` tells which kind."""
        after = (end + timedelta(days=1)).isoformat()
        found = sa.select(TABLE).where(TABLE.c.at >= start.isoformat(), TABLE.c.at < after)
        if demo is not None:
            found = found.where(TABLE.c.demo == demo)
        return self.entries(found.order_by(TABLE.c.id))

    def of(self, conversation: str) -> list[Entry]:
        """A conversation's turns, in order."""
        found = sa.select(TABLE).where(TABLE.c.conversation == conversation)
        return self.entries(found.order_by(TABLE.c.id))

    def faulty(self) -> list[Entry]:
        """The turns worth a look, oldest first. What was forgotten is not among them."""
        found = sa.select(TABLE).where(TABLE.c.fault.isnot(None), TABLE.c.question.isnot(None))
        return self.entries(found.order_by(TABLE.c.id))

    def latest(self, most: int = 100) -> list[Entry]:
        """The last turns, newest first."""
        found = sa.select(TABLE).where(TABLE.c.question.isnot(None))
        return self.entries(found.order_by(TABLE.c.id.desc()).limit(most))

    def entries(self, found: Any) -> list[Entry]:
        """The entries a query finds."""
        with self.engine.connect() as connection:
            return [from_row(row) for row in connection.execute(found).mappings()]
