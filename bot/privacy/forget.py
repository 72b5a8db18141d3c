"""Forgets: takes out of the data folder what was said, by age, by conversation or by phone.

Of the record a count is left that tells of nobody. The bytes are overwritten (SQLite's
`secure_delete`), free pages are given back (`VACUUM`) and the log of changes is emptied, so that
nothing can be read back from the files. It may be done while the server runs.
"""

from __future__ import annotations

import json
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path

from bot.atomic import write_json
from bot.processes import Failed

PATIENCE = 30.0
"""Seconds to wait for who else writes to a file."""
OPEN = "('waiting', 'taken')"
TEXTER = "sms-"
"""What the name of a texter's conversation begins with; the keyed hash of the number follows."""


@dataclass(frozen=True, slots=True)
class What:
    """What to forget: all before a moment (seconds since 1970), or one conversation. With `counts`
    the record's counts go too."""

    before: float | None = None
    conversation: str | None = None
    counts: bool = False

    def __post_init__(self) -> None:
        if (self.before is None) == (self.conversation is None):
            raise ValueError("Forget what is older than a moment, or one conversation.")

    @property
    def texter(self) -> str | None:
        """The name of the texter whose conversation it is, if it is one."""
        name = self.conversation or ""
        return name.removeprefix(TEXTER) if name.startswith(TEXTER) else None

    def where(self, old: str, of: str) -> tuple[str, dict[str, object]]:
        """A condition of SQL and its values: `old` where age counts, else `of`."""
        at = None
        if self.before is not None:
            at = datetime.fromtimestamp(self.before, timezone.utc).isoformat(timespec="seconds")
        values = {"before": self.before, "at": at, "who": self.conversation, "texter": self.texter}
        return (old if self.before is not None else of), values


@dataclass(frozen=True, slots=True)
class Part:
    """One kind of thing in one file: its table, which rows, and what is done with them."""

    file: str
    name: str
    table: str
    old: str
    of: str
    change: Callable[[sqlite3.Connection, str, dict[str, object]], None] | None = None


def to_counts(db: sqlite3.Connection, where: str, values: dict[str, object]) -> None:
    """Leave of rows of the record what tells of nobody."""
    rows = db.execute(f"SELECT id, at, items FROM answers WHERE {where}", values).fetchall()
    for number, at, items in rows:
        bare = [{**item, "asked_as": ""} for item in json.loads(items)]
        db.execute(
            "UPDATE answers SET conversation = NULL, turn = NULL, question = NULL, at = ?, "
            "items = ? WHERE id = ?",
            (at[:10], json.dumps(bare, ensure_ascii=False), number),
        )


def without_place(db: sqlite3.Connection, where: str, values: dict[str, object]) -> None:
    """Keep of who texted STOP only that: they must not be texted again."""
    db.execute(f"UPDATE texters SET district = NULL WHERE {where}", values)


def without_words(db: sqlite3.Connection, where: str, values: dict[str, object]) -> None:
    """Keep of a decision all but the words people used."""
    db.execute(f"UPDATE decisions SET forms = '[]' WHERE {where}", values)


CHATS = f"state NOT IN {OPEN} AND "
TOLD = "(conversation IS NOT NULL OR question IS NOT NULL OR turn IS NOT NULL) AND "
PARTS = (
    Part(
        "conversations.db",
        "events of conversations",
        "events",
        "timestamp < :before",
        "sender_id = :who",
    ),
    Part("remarks.db", "remarks", "remarks", "at < :at", "conversation = :who"),
    Part(
        "handover.db",
        "lines of chats with a person",
        "lines",
        f"chat IN (SELECT id FROM chats WHERE {CHATS}changed < :before)",
        f"chat IN (SELECT id FROM chats WHERE {CHATS}sender = :who)",
    ),
    Part(
        "handover.db",
        "chats with a person",
        "chats",
        CHATS + "changed < :before",
        CHATS + "sender = :who",
    ),
    Part("sms.db", "text messages", "received", "came < :before", "texter = :texter"),
    Part("sms.db", "texts not sent yet", "outbox", "0", "texter = :texter"),
    Part(
        "sms.db",
        "texters",
        "texters",
        "seen < :before AND NOT stopped",
        "name = :texter AND NOT stopped",
    ),
    Part(
        "sms.db",
        "districts of texters who said STOP",
        "texters",
        "seen < :before AND stopped AND district NOT NULL",
        "name = :texter AND stopped AND district NOT NULL",
        without_place,
    ),
    Part(
        "review.db",
        "decisions' words",
        "decisions",
        "at < :at AND forms != '[]'",
        "0",
        without_words,
    ),
)
COUNTED = Part(
    "conversations.db",
    "answers that stay as counts",
    "answers",
    TOLD + "at < :at",
    "conversation = :who",
    to_counts,
)
GONE = Part("conversations.db", "answers", "answers", "at < :at", "conversation = :who")


def parts_of(what: What) -> list[Part]:
    """All there is to do."""
    return [GONE if what.counts else COUNTED, *PARTS]


def forget(data: Path, what: What, *, dry: bool = False, shrink: bool = True) -> dict[str, int]:
    """Forget, and tell how many of each kind; with `dry` only tell. `shrink` gives free pages back.

    Raises `Failed` if a file is in use for too long; then it can be asked for again.
    """
    counted: dict[str, int] = {}
    files = list(dict.fromkeys(part.file for part in parts_of(what)))
    for file in files:
        if not (data / file).exists():
            continue
        with opened(data / file) as db:
            done = of_file(db, [p for p in parts_of(what) if p.file == file], what, dry)
            if not dry and any(done.values()):
                clean(db, shrink)
            counted.update(done)
    counted["questions beside changes"] = of_changes(data / "changes", what, dry)
    return counted


def of_changes(folder: Path, what: What, dry: bool) -> int:
    """Take residents' questions out of the proposed changes they were kept with."""
    gone = 0
    for path in sorted(folder.glob("*.json")):
        try:
            change = json.loads(path.read_text(encoding="utf-8"))
            asked = change["about"].get("questions") or []
            old = what.before is not None and older(change["at"], what.before)
        except (OSError, ValueError, KeyError, AttributeError, TypeError):
            continue
        left = [q for q in asked if not old and q.get("conversation") != what.conversation]
        if what.conversation is None and not old:
            left = asked
        gone += len(asked) - len(left)
        if len(left) != len(asked) and not dry:
            change["about"]["questions"] = left
            write_json(path, change)
    return gone


def older(at: str, before: float) -> bool:
    """Whether a moment in ISO 8601 lies before another, in seconds since 1970."""
    return datetime.fromisoformat(at).timestamp() < before


def of_file(db: sqlite3.Connection, parts: list[Part], what: What, dry: bool) -> dict[str, int]:
    """The same for one file, as one change."""
    tables = {name for (name,) in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    done = {}
    if not dry:
        db.execute("BEGIN IMMEDIATE")
    for part in parts:
        if part.table not in tables:
            continue
        where, values = what.where(part.old, part.of)
        found = db.execute(f"SELECT count(*) FROM {part.table} WHERE {where}", values).fetchone()
        done[part.name] = int(found[0])
        if dry or not found[0]:
            continue
        if part.change:
            part.change(db, where, values)
        else:
            db.execute(f"DELETE FROM {part.table} WHERE {where}", values)
    if not dry:
        db.execute("COMMIT")
    return done


def clean(db: sqlite3.Connection, shrink: bool) -> None:
    """Leave nothing of it in free pages or in the log of changes."""
    if shrink:
        db.execute("VACUUM")
    until = time.monotonic() + PATIENCE
    while db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()[0]:
        if time.monotonic() > until:
            raise sqlite3.OperationalError("the log of changes is in use")
        time.sleep(0.1)


@contextmanager
def opened(path: Path) -> Iterator[sqlite3.Connection]:
    """A file of the data folder."""
    try:
        with closing(sqlite3.connect(path, isolation_level=None, timeout=PATIENCE)) as db:
            db.execute("PRAGMA secure_delete=ON")
            yield db
    except sqlite3.OperationalError as error:
        raise Failed(f"{path} could not be cleaned ({error}). Try again in a moment.") from None
    except sqlite3.DatabaseError as error:
        raise Failed(f"{path} cannot be read ({error}). Bring it back from a copy.") from None


def told(counted: dict[str, int], dry: bool) -> list[str]:
    """What was forgotten, in words."""
    lines = [f"  {number:>6}  {name}" for name, number in counted.items() if number]
    if not lines:
        return ["There is nothing of that here."]
    return ["This would be forgotten:" if dry else "Forgotten:", *lines]
