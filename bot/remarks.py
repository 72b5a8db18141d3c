"""What people say of answers: right, wrong, or something that is missing. The officer reads it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.pool import StaticPool

from bot.conversations import quick

KINDS = ("right", "wrong", "missing")

TABLES = sa.MetaData()
REMARKS = sa.Table(
    "remarks",
    TABLES,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("at", sa.String(32), nullable=False),
    sa.Column("kind", sa.String(8), nullable=False),
    sa.Column("channel", sa.String(16), nullable=False),
    sa.Column("conversation", sa.String(255), nullable=False),
    sa.Column("question", sa.Text, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sa.Column("district", sa.String(64)),
    sa.Column("on", sa.String(10)),
    sa.Column("reply", sa.Text),
)


@dataclass(frozen=True, slots=True)
class Remark:
    """One remark. `at` is in UTC, ISO 8601; `reply` is the machine-readable answer meant."""

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


class Remarks:
    """The remarks kept in one SQLite file."""

    def __init__(self, path: Path) -> None:
        self.engine = sa.create_engine(
            f"sqlite:///{path}",
            poolclass=StaticPool,
            connect_args={"check_same_thread": False},
        )
        sa.event.listen(self.engine, "connect", quick)
        TABLES.create_all(self.engine)

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
    ) -> int:
        """Keep a remark and return its number. Raises `ValueError` for an unknown kind."""
        if kind not in KINDS:
            raise ValueError(f"A remark is one of {', '.join(KINDS)}, not '{kind}'.")
        row = {
            "at": datetime.now(timezone.utc).isoformat(timespec="seconds"),
            "kind": kind,
            "channel": channel,
            "conversation": conversation,
            "question": question,
            "note": note,
            "district": district,
            "on": on,
            "reply": json.dumps(dict(reply), ensure_ascii=False) if reply is not None else None,
        }
        with self.engine.begin() as connection:
            return int(connection.execute(REMARKS.insert().values(**row)).inserted_primary_key[0])

    def all(self) -> list[Remark]:
        """Every remark, oldest first."""
        with self.engine.connect() as connection:
            rows = connection.execute(REMARKS.select().order_by(REMARKS.c.id)).mappings().all()
        return [
            Remark(**{**r, "reply": json.loads(r["reply"]) if r["reply"] else None}) for r in rows
        ]
