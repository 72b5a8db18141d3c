"""What is kept of texters and messages, in one SQLite file: hashes, never a number.

Messages that came are kept for three days so that a gateway that tries again gets the same reply;
texters for 400 days after their last message, those who said STOP until they say START.
"""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

DAY = 86_400.0
KEEP_MESSAGES = 3 * DAY
KEEP_TEXTERS = 400 * DAY
"""Seconds."""

TABLES = """
CREATE TABLE IF NOT EXISTS texters (
  name TEXT PRIMARY KEY, district TEXT, stopped INTEGER NOT NULL DEFAULT 0,
  seen REAL NOT NULL, warned REAL NOT NULL DEFAULT 0) WITHOUT ROWID;
CREATE TABLE IF NOT EXISTS received (
  key TEXT PRIMARY KEY, texter TEXT NOT NULL, came REAL NOT NULL, done REAL, reply TEXT)
  WITHOUT ROWID;
CREATE INDEX IF NOT EXISTS received_of ON received (texter, came);
CREATE TABLE IF NOT EXISTS outbox (
  id INTEGER PRIMARY KEY AUTOINCREMENT, texter TEXT NOT NULL, ref TEXT NOT NULL,
  sealed BLOB NOT NULL, attempts INTEGER NOT NULL DEFAULT 0, due REAL NOT NULL);
"""


@dataclass(frozen=True, slots=True)
class Texter:
    """What is remembered of a person. Times are seconds since 1970."""

    name: str
    district: str | None = None
    stopped: bool = False
    seen: float = 0.0
    warned: float = 0.0


@dataclass(frozen=True, slots=True)
class Unsent:
    """A message that waits in the outbox."""

    id: int
    ref: str
    sealed: bytes
    attempts: int


class Store:
    """The file. All calls come from one thread."""

    def __init__(self, path: Path) -> None:
        path.touch(mode=0o600)
        self.db = sqlite3.connect(path, isolation_level=None, check_same_thread=False, timeout=5)
        self.db.execute("PRAGMA journal_mode=WAL")
        self.db.execute("PRAGMA secure_delete=ON")
        self.db.execute("PRAGMA synchronous=FULL")
        self.db.executescript(TABLES)
        self.tidied = 0.0

    @contextmanager
    def all_or_nothing(self) -> Iterator[None]:
        """Several changes as one."""
        self.db.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self.db.execute("ROLLBACK")
            raise
        self.db.execute("COMMIT")

    def close(self) -> None:
        """Close the file."""
        self.db.close()

    # Messages

    def reply_to(self, key: str, since: float) -> str | None:
        """The reply that a message got, empty for none; `None` if it was not answered yet, or
        before a moment."""
        row = self.db.execute(
            "SELECT reply FROM received WHERE key = ? AND done >= ?", (key, since)
        ).fetchone()
        return None if row is None else str(row[0])

    def begin(self, key: str, texter: str, now: float) -> None:
        """Note that a message came. An older one with the same key keeps its place in the count."""
        self.tidy(now)
        with self.all_or_nothing():
            self.db.execute(
                "UPDATE received SET key = key || '-' || came WHERE key = ? AND done NOT NULL",
                (key,),
            )
            self.db.execute(
                "INSERT OR REPLACE INTO received (key, texter, came) VALUES (?, ?, ?)",
                (key, texter, now),
            )

    def finish(self, key: str, reply: str, ref: str, sealed: bytes | None) -> None:
        """Note its reply, and with it the message that is to be sent."""
        now = time.time()
        with self.all_or_nothing():
            self.db.execute(
                "UPDATE received SET done = ?, reply = ? WHERE key = ?", (now, reply, key)
            )
            if sealed is not None:
                self.db.execute(
                    "INSERT INTO outbox (texter, ref, sealed, due) "
                    "SELECT texter, ?, ?, ? FROM received WHERE key = ?",
                    (ref, sealed, now, key),
                )

    def count(self, texter: str, since: float) -> int:
        """How many messages a person sent since a moment."""
        row = self.db.execute(
            "SELECT count(*) FROM received WHERE texter = ? AND came >= ?", (texter, since)
        ).fetchone()
        return int(row[0])

    # Texters

    def texter(self, name: str) -> Texter:
        """What is remembered of a person."""
        row = self.db.execute(
            "SELECT district, stopped, seen, warned FROM texters WHERE name = ?", (name,)
        ).fetchone()
        return Texter(name, row[0], bool(row[1]), row[2], row[3]) if row else Texter(name)

    def remember(self, texter: Texter) -> None:
        """Keep what is known of a person."""
        self.db.execute(
            "INSERT OR REPLACE INTO texters (name, district, stopped, seen, warned) "
            "VALUES (?, ?, ?, ?, ?)",
            (texter.name, texter.district, texter.stopped, texter.seen, texter.warned),
        )

    # Messages to send

    def put(self, texter: str, ref: str, sealed: bytes, due: float) -> None:
        """Add a message that is no reply."""
        self.db.execute(
            "INSERT INTO outbox (texter, ref, sealed, due) VALUES (?, ?, ?, ?)",
            (texter, ref, sealed, due),
        )

    def due(self, now: float, most: int = 20) -> list[Unsent]:
        """Messages whose time has come, the oldest of each person."""
        rows = self.db.execute(
            "SELECT id, ref, sealed, attempts FROM outbox WHERE due <= ? AND id IN "
            "(SELECT min(id) FROM outbox GROUP BY texter) ORDER BY id LIMIT ?",
            (now, most),
        ).fetchall()
        return [Unsent(*row) for row in rows]

    def next_due(self) -> float | None:
        """When the next message is to be tried."""
        row = self.db.execute(
            "SELECT min(due) FROM outbox WHERE id IN (SELECT min(id) FROM outbox GROUP BY texter)"
        ).fetchone()
        return None if row[0] is None else float(row[0])

    def waiting(self) -> int:
        """How many messages wait."""
        return int(self.db.execute("SELECT count(*) FROM outbox").fetchone()[0])

    def later(self, unsent: Unsent, due: float) -> None:
        """Try a message again."""
        self.db.execute(
            "UPDATE outbox SET attempts = attempts + 1, due = ? WHERE id = ?", (due, unsent.id)
        )

    def gone(self, unsent: Unsent) -> None:
        """Take a message out, and its number with it."""
        self.db.execute("DELETE FROM outbox WHERE id = ?", (unsent.id,))

    def drop(self, texter: str) -> None:
        """Take out what waits for a person who wants no more."""
        self.db.execute("DELETE FROM outbox WHERE texter = ?", (texter,))

    # Keeping no more than is needed

    def tidy(self, now: float) -> None:
        """Forget what is old, once an hour."""
        if now - self.tidied < 3600:
            return
        self.tidied = now
        self.db.execute("DELETE FROM received WHERE came < ?", (now - KEEP_MESSAGES,))
        self.db.execute("DELETE FROM texters WHERE seen < ? AND NOT stopped", (now - KEEP_TEXTERS,))
