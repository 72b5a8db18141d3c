"""Takes demo traffic away again, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from bot.record.entry import TABLE
from bot.record.store import FILE
from bot.remarks import Remarks
from bot.storage import with_tables

EVENTS = sa.table("events", sa.column("sender_id"))


@dataclass(frozen=True, slots=True)
class Removed:
    """How many there were."""

    conversations: int
    answers: int
    remarks: int


def remove(data: Path) -> Removed:
    """Take away all demo conversations, their rows of the record and their remarks."""
    conversations = answers = remarks = 0
    if (data / FILE).exists():
        engine = with_tables(data / FILE, TABLE.metadata)
        names = sa.select(TABLE.c.conversation).where(TABLE.c.demo).distinct()
        with engine.begin() as connection:
            known = connection.execute(names.where(TABLE.c.conversation.isnot(None))).all()
            conversations = len(known)
            if sa.inspect(connection).has_table("events"):
                connection.execute(
                    sa.delete(EVENTS).where(EVENTS.c.sender_id.in_(names.scalar_subquery()))
                )
            answers = connection.execute(sa.delete(TABLE).where(TABLE.c.demo)).rowcount
        engine.dispose()
    if (data / "remarks.db").exists():
        remarks = Remarks(data / "remarks.db").drop_demo()
    return Removed(conversations, answers, remarks)
