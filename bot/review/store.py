"""What the officer decided of each group, in one SQLite file."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path

import sqlalchemy as sa

from bot.review.form import Form
from bot.storage import with_tables

FILE = "review.db"
REASON = 300
"""Characters of a reason."""
STATES = ("accepted", "dismissed", "later", "reopened")

META = sa.MetaData()
DECISIONS = sa.Table(
    "decisions",
    META,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("key", sa.Text, nullable=False, index=True),
    sa.Column("state", sa.Text, nullable=False),
    sa.Column("at", sa.Text, nullable=False),
    sa.Column("by", sa.Text, nullable=False),
    sa.Column("because", sa.Text, nullable=False),
    sa.Column("change", sa.Text),
    sa.Column("asked", sa.Integer, nullable=False),
    sa.Column("forms", sa.Text, nullable=False),
)
KEYS = sa.Table(
    "keys",
    META,
    sa.Column("digest", sa.Text, primary_key=True),
    sa.Column("key", sa.Text, nullable=False),
)
"""The group of each phrase ever seen, by a digest: no words of residents are kept here."""


@dataclass(frozen=True, slots=True)
class Decision:
    """What was decided of a group: one of `STATES`, when (UTC), by whom and why.

    `change` is the id of the proposed change, `asked` how often the group was asked by then.
    `forms` are the words it is known by, which later questions are compared with.
    """

    key: str
    state: str
    at: str
    by: str
    because: str
    change: str | None
    asked: int
    forms: tuple[Form, ...]


class Store:
    """Decisions and group keys. Calls may come from any thread."""

    def __init__(self, data: Path) -> None:
        self.engine = with_tables(data / FILE, META, shared=True)

    def decide(
        self,
        key: str,
        state: str,
        *,
        by: str,
        asked: int,
        forms: Iterable[Form] = (),
        because: str = "",
        change: str | None = None,
    ) -> None:
        """Keep a decision; the latest of a group holds. Raises `ValueError` on a wrong one."""
        because = " ".join(because.split())
        if state not in STATES:
            raise ValueError(f"There is no state '{state}'. There are: {', '.join(STATES)}.")
        if state == "dismissed" and not because:
            raise ValueError("Say why no rule is needed, so that others can follow it.")
        if len(because) > REASON:
            raise ValueError(f"A reason may have {REASON} characters; this one has {len(because)}.")
        row = {
            "key": key,
            "state": state,
            "at": datetime.now(timezone.utc).isoformat(timespec="seconds"),
            "by": by,
            "because": because,
            "change": change,
            "asked": asked,
            "forms": json.dumps([[list(f.words), f.head] for f in forms], ensure_ascii=False),
        }
        with self.engine.begin() as connection:
            connection.execute(DECISIONS.insert().values(row))

    def history(self, key: str) -> list[Decision]:
        """All decisions of a group, oldest first."""
        return self.read(sa.select(DECISIONS).where(DECISIONS.c.key == key))

    def latest(self) -> dict[str, Decision]:
        """The decision that holds for each group that has one."""
        return {d.key: d for d in self.read(sa.select(DECISIONS))}

    def read(self, found: sa.sql.Select) -> list[Decision]:
        """The decisions a query finds, oldest first."""
        with self.engine.connect() as connection:
            rows = connection.execute(found.order_by(DECISIONS.c.id)).mappings().all()
        made = []
        for row in rows:
            told = {k: row[k] for k in ("key", "state", "at", "by", "because", "change", "asked")}
            forms = tuple(Form(tuple(words), head) for words, head in json.loads(row["forms"]))
            made.append(Decision(**told, forms=forms))
        return made

    def keys(self) -> dict[str, str]:
        """The keys given so far, by digest."""
        with self.engine.connect() as connection:
            return {r.digest: r.key for r in connection.execute(sa.select(KEYS))}

    def keep(self, fresh: Mapping[str, str]) -> None:
        """Keep new keys. One that was given meanwhile stays."""
        if not fresh:
            return
        rows = [{"digest": d, "key": k} for d, k in fresh.items()]
        with self.engine.begin() as connection:
            connection.execute(KEYS.insert().prefix_with("OR IGNORE"), rows)
