"""The chats that residents asked a person for, and the lines said in them, in SQLite.

A chat is `waiting`, then `taken` by one agent, and in the end `ended` (by the agent, or because
nobody is there) or `left` by the resident. Only a hash of the resident's secret is kept.
The file has what people said masked. While a chat is open, the words as they were typed are held in
memory, for the agent who has to read them.
"""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from bot.access.sessions import digest
from bot.privacy.mask import masked
from bot.storage import with_tables

OPEN = ("waiting", "taken")
SPEAKERS = ("resident", "agent", "assistant", "note")
"""Who said a line. `note` tells what happened; `page` is what the resident's page told."""

TABLES = sa.MetaData()
CHATS = sa.Table(
    "chats",
    TABLES,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("secret", sa.String(64), nullable=False, unique=True),
    sa.Column("sender", sa.String(255), nullable=False),
    sa.Column("district", sa.String(64)),
    sa.Column("state", sa.String(8), nullable=False, index=True),
    sa.Column("agent", sa.String(255)),
    sa.Column("asked", sa.Float, nullable=False),
    sa.Column("changed", sa.Float, nullable=False),
    sa.Column("agent_seen", sa.Float, nullable=False),
    sa.Column("resident_seen", sa.Float, nullable=False),
)
LINES = sa.Table(
    "lines",
    TABLES,
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("chat", sa.Integer, nullable=False, index=True),
    sa.Column("at", sa.Float, nullable=False),
    sa.Column("who", sa.String(9), nullable=False),
    sa.Column("text", sa.Text, nullable=False),
)


@dataclass(frozen=True, slots=True)
class Chat:
    """A chat. Times are seconds of the clock."""

    id: int
    sender: str
    district: str | None
    state: str
    agent: str | None
    asked: float
    changed: float
    agent_seen: float
    resident_seen: float


@dataclass(frozen=True, slots=True)
class Line:
    """One line. `at` is seconds of the clock."""

    id: int
    at: float
    who: str
    text: str


FIELDS = [CHATS.c[f] for f in Chat.__slots__]


class Chats:
    """The chats of one file."""

    def __init__(self, path: Path, now: Callable[[], float] = time.time) -> None:
        self.now = now
        self.engine = with_tables(path, TABLES)
        self.open: dict[int, dict[int, str]] = {}

    def ask(self, sender: str, district: str | None) -> tuple[str, Chat]:
        """A new waiting chat and the resident's secret."""
        secret, now = secrets.token_urlsafe(32), self.now()
        with self.engine.begin() as c:
            made = c.execute(
                CHATS.insert().values(
                    secret=digest(secret),
                    sender=sender,
                    district=district,
                    state="waiting",
                    asked=now,
                    changed=now,
                    agent_seen=now,
                    resident_seen=now,
                )
            )
            number = int(made.inserted_primary_key[0])
        chat = self.get(number)
        assert chat is not None
        return secret, chat

    def one(self, condition: Any) -> Chat | None:
        with self.engine.connect() as c:
            row = c.execute(sa.select(FIELDS).where(condition)).mappings().first()
        return Chat(**row) if row else None

    def get(self, number: int) -> Chat | None:
        """A chat by its number."""
        return self.one(CHATS.c.id == number)

    def of(self, secret: str) -> Chat | None:
        """A chat by its resident's secret."""
        return self.one(CHATS.c.secret == digest(secret))

    def open_of(self, sender: str) -> Chat | None:
        """The chat of a conversation that waits or is taken."""
        return self.one(sa.and_(CHATS.c.sender == sender, CHATS.c.state.in_(OPEN)))

    def all(self, *states: str) -> list[Chat]:
        """The chats in some states, the longest waiting first."""
        query = sa.select(FIELDS).where(CHATS.c.state.in_(states)).order_by(CHATS.c.asked)
        with self.engine.connect() as c:
            return [Chat(**r) for r in c.execute(query).mappings()]

    def move(
        self, chat: int, before: Iterable[str], after: str, by: str | None = None, **more: Any
    ) -> bool:
        """Change a chat's state if it is in one of some states (and the agent's, with `by`).

        One statement, so of two who try at once only one succeeds.
        """
        where = [CHATS.c.id == chat, CHATS.c.state.in_(list(before))]
        if by is not None:
            where.append(CHATS.c.agent == by)
        with self.engine.begin() as c:
            done = c.execute(
                CHATS.update().where(*where).values(state=after, changed=self.now(), **more)
            )
        if after not in OPEN:
            self.open.pop(chat, None)
        return bool(done.rowcount == 1)

    def take(self, chat: int, agent: str) -> bool:
        """Give a waiting chat to an agent; false if somebody else was quicker."""
        return self.move(chat, ["waiting"], "taken", agent=agent, agent_seen=self.now())

    def give_back(self, chat: int, agent: str) -> bool:
        """Let a chat wait for another agent."""
        return self.move(chat, ["taken"], "waiting", by=agent, agent=None)

    def see_agent(self, agent: str) -> None:
        """Note that an agent's page is there."""
        where = CHATS.c.agent == agent, CHATS.c.state == "taken"
        with self.engine.begin() as c:
            c.execute(CHATS.update().where(*where).values(agent_seen=self.now()))

    def see_resident(self, chat: int) -> None:
        """Note that a resident's page is there."""
        with self.engine.begin() as c:
            c.execute(CHATS.update().where(CHATS.c.id == chat).values(resident_seen=self.now()))

    def say(self, chat: int, who: str, text: str) -> Line:
        """Add a line; what a resident or an agent says is stored masked."""
        assert who in SPEAKERS
        now = self.now()
        kept = masked(text) if who in ("resident", "agent") else text
        with self.engine.begin() as c:
            made = c.execute(LINES.insert().values(chat=chat, at=now, who=who, text=kept))
            number = int(made.inserted_primary_key[0])
        if kept != text:
            self.open.setdefault(chat, {})[number] = text
        return Line(number, now, who, text)

    def lines(self, chat: int, after: int = 0) -> list[Line]:
        """The lines of a chat behind one."""
        query = (
            sa.select([LINES.c.id, LINES.c.at, LINES.c.who, LINES.c.text])
            .where(LINES.c.chat == chat, LINES.c.id > after)
            .order_by(LINES.c.id)
        )
        with self.engine.connect() as c:
            rows = [dict(r) for r in c.execute(query).mappings()]
        typed = self.open.get(chat, {})
        return [Line(**{**r, "text": typed.get(r["id"], r["text"])}) for r in rows]

    def forget(self, before: float) -> int:
        """Delete what ended before a moment; returns how many chats."""
        old = sa.select([CHATS.c.id]).where(CHATS.c.state.notin_(OPEN), CHATS.c.changed < before)
        with self.engine.begin() as c:
            c.execute(LINES.delete().where(LINES.c.chat.in_(old)))
            where = CHATS.c.state.notin_(OPEN), CHATS.c.changed < before
            return int(c.execute(CHATS.delete().where(*where)).rowcount)
