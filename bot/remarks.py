"""What people say of answers, kept for the officer who looks after the rules."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from bot.privacy.mask import masked
from bot.privacy.stored import answer
from bot.storage import with_tables

KINDS = ("right", "wrong", "missing")
"""The answer was right; it was wrong; the rules lack something."""
NOTE = 500
"""Characters of a note, as a reader counts them."""

TABLE = sa.Table(
    "remarks",
    sa.MetaData(),
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("at", sa.Text, nullable=False),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("channel", sa.Text, nullable=False),
    sa.Column("conversation", sa.Text, nullable=False),
    sa.Column("turn", sa.Text),
    sa.Column("question", sa.Text, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sa.Column("district", sa.Text),
    sa.Column("on", sa.Text),
    sa.Column("reply", sa.Text),
    sa.Column("demo", sa.Boolean, nullable=False, server_default=sa.false()),
    sa.UniqueConstraint("conversation", "turn"),
)


@dataclass(frozen=True, slots=True)
class Remark:
    """One remark. `at` is UTC in ISO 8601, `on` the day the answer was for, `reply` the contract
    of the answer, `turn` the id of the message it answered, where the channel gives one. `demo`
    marks what no resident said."""

    id: int
    at: str
    kind: str
    channel: str
    conversation: str
    question: str
    note: str
    district: str | None
    on: str | None
    reply: dict[str, Any] | None
    turn: str | None
    demo: bool = False


class Remarks:
    """The remarks in one SQLite file. One is made now, unless `at` tells when; `demo` marks what no
    resident said."""

    def __init__(self, path: Path) -> None:
        self.engine = with_tables(path, TABLE.metadata)
        with self.engine.begin() as connection:
            there = {c["name"] for c in sa.inspect(connection).get_columns("remarks")}
            if "demo" not in there:  # a file of an earlier version
                connection.execute(
                    sa.text("ALTER TABLE remarks ADD COLUMN demo BOOLEAN NOT NULL DEFAULT 0")
                )

    def add(
        self,
        kind: str,
        *,
        channel: str,
        conversation: str,
        question: str,
        note: str = "",
        district: str | None = None,
        on: str | None = None,
        reply: Mapping[str, Any] | None = None,
        turn: str | None = None,
        at: datetime | None = None,
        demo: bool = False,
    ) -> int:
        """Keep a remark, masked, and return its number. With the same conversation and turn as
        one before, it takes that one's place. Raises `ValueError` on an unknown kind or too long
        a note."""
        if kind not in KINDS:
            raise ValueError(f"There is no kind '{kind}'. There are: {', '.join(KINDS)}.")
        if len(note) > NOTE:
            raise ValueError(f"A note may have {NOTE} characters; this one has {len(note)}.")
        made_at = (at or datetime.now(timezone.utc)).astimezone(timezone.utc)
        row = {
            "at": made_at.isoformat(timespec="seconds"),
            "demo": demo,
            "kind": kind,
            "channel": channel,
            "conversation": conversation,
            "turn": turn,
            "question": masked(question),
            "note": masked(note),
            "district": district,
            "on": on,
            "reply": None if reply is None else json.dumps(answer(reply), ensure_ascii=False),
        }
        with self.engine.begin() as connection:
            if turn is not None:
                same = (TABLE.c.conversation == conversation) & (TABLE.c.turn == turn)
                before = connection.execute(sa.select(TABLE.c.id).where(same)).scalar()
                if before is not None:
                    connection.execute(TABLE.update().where(TABLE.c.id == before).values(row))
                    return int(before)
            made = connection.execute(TABLE.insert().values(row))
            return int(made.inserted_primary_key[0])

    def all(self) -> list[Remark]:
        """Every remark, oldest first."""
        with self.engine.connect() as connection:
            rows = connection.execute(sa.select(TABLE).order_by(TABLE.c.id)).mappings().all()
        return [
            Remark(**{**row, "reply": None if row["reply"] is None else json.loads(row["reply"])})
            for row in rows
        ]

    def drop_demo(self) -> int:
        """Take away what no resident said, and tell how many remarks that were."""
        with self.engine.begin() as connection:
            return int(connection.execute(TABLE.delete().where(TABLE.c.demo)).rowcount)
