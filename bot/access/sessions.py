"""Sessions of people who signed in, kept hashed in SQLite."""

from __future__ import annotations

import hashlib
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from bot.storage import with_tables

TABLES = sa.MetaData()
SESSIONS = sa.Table(
    "sessions",
    TABLES,
    sa.Column("id", sa.String(64), primary_key=True),
    sa.Column("name", sa.String(255), nullable=False, index=True),
    sa.Column("mark", sa.String(64), nullable=False),
    sa.Column("token", sa.String(64), nullable=False),
    sa.Column("started", sa.Float, nullable=False),
    sa.Column("used", sa.Float, nullable=False),
)


@dataclass(frozen=True, slots=True)
class Session:
    """A session. `mark` stands for what it was opened with: it ends when that changes.

    `token` is the synchroniser token that every change has to send. Times are seconds of the clock.
    """

    id: str
    name: str
    mark: str
    token: str
    started: float
    used: float


def digest(text: str) -> str:
    """SHA-256 in hexadecimal; enough for a random secret of 256 bits."""
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()


class Sessions:
    """The sessions of one file. `idle` and `longest` in seconds."""

    def __init__(
        self, path: Path, idle: float, longest: float, now: Callable[[], float] = time.time
    ) -> None:
        self.idle, self.longest, self.now = idle, longest, now
        self.engine = with_tables(path, TABLES)

    def open(self, name: str, mark: str) -> tuple[str, Session]:
        """A new session and the secret for the cookie, which is kept nowhere else."""
        secret = secrets.token_urlsafe(32)
        now = self.now()
        session = Session(digest(secret), name, mark, secrets.token_urlsafe(32), now, now)
        with self.engine.begin() as c:
            c.execute(SESSIONS.delete().where(self.over(now)))
            c.execute(
                SESSIONS.insert().values(
                    id=session.id,
                    name=name,
                    mark=mark,
                    token=session.token,
                    started=now,
                    used=now,
                )
            )
        return secret, session

    def over(self, now: float) -> sa.sql.ColumnElement:
        """The sessions whose time is up."""
        return sa.or_(SESSIONS.c.used <= now - self.idle, SESSIONS.c.started <= now - self.longest)

    def find(self, secret: str) -> Session | None:
        """The session of a cookie, unless its time is up."""
        return self.find_by_id(digest(secret))

    def find_by_id(self, number: str) -> Session | None:
        """A session as it is now, unless its time is up."""
        with self.engine.connect() as c:
            query = SESSIONS.select().where(SESSIONS.c.id == number, sa.not_(self.over(self.now())))
            row = c.execute(query).mappings().first()
        return Session(**row) if row else None

    def use(self, session: Session) -> None:
        """Note that somebody did something, not only the page by itself."""
        with self.engine.begin() as c:
            c.execute(SESSIONS.update().where(SESSIONS.c.id == session.id).values(used=self.now()))

    def end(self, session: Session) -> None:
        """End one session."""
        with self.engine.begin() as c:
            c.execute(SESSIONS.delete().where(SESSIONS.c.id == session.id))

    def open_for(self, name: str) -> bool:
        """Whether a person has a session whose time is not up."""
        with self.engine.connect() as c:
            query = SESSIONS.select().where(SESSIONS.c.name == name, sa.not_(self.over(self.now())))
            return c.execute(query).first() is not None

    def left(self, session: Session) -> float:
        """Seconds a session still has if nothing is done."""
        return min(session.used + self.idle, session.started + self.longest) - self.now()
