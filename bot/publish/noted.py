"""What was published last, and whether the rules in force now say something else."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timezone
from pathlib import Path
from typing import Any

from bot.atomic import write_json
from bot.publish.lines import lines
from bot.publish.records import record
from rules.model import Book

FILE = "published.json"
UNSAID = ("from", "until", "rule")
"""What two days, or a moved line of a rule file, change without changing an answer."""


@dataclass(frozen=True, slots=True)
class Noted:
    """What was published: by whom, when (UTC), from which rules and for which day.

    `answers` holds a hash of what each district was told, `files` one of each file.
    """

    by: str
    at: str
    rules: str
    on: date
    answers: Mapping[str, str]
    files: Mapping[str, str]


def note(
    data: Path, book: Book, day: date, districts: Iterable[str], files: Mapping[str, str], by: str
) -> Noted:
    """Keep what was published; `files` are the hashes by path."""
    told = {
        "by": by,
        "at": datetime.now(timezone.utc).isoformat(timespec="seconds"),
        "rules": book.version,
        "on": day.isoformat(),
        "answers": {d: answers(book, d, day) for d in sorted(districts)},
        "files": dict(files),
    }
    data.mkdir(parents=True, exist_ok=True)
    write_json(data / FILE, told)
    return made(told)


def last(data: Path) -> Noted | None:
    """What was published last, or nothing; a file that cannot be read is nothing."""
    try:
        return made(json.loads((data / FILE).read_text(encoding="utf-8")))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def made(told: Mapping[str, Any]) -> Noted:
    """From a file's data."""
    return Noted(
        str(told["by"]),
        str(told["at"]),
        str(told["rules"]),
        date.fromisoformat(told["on"]),
        dict(told["answers"]),
        dict(told["files"]),
    )


def answers(book: Book, district: str, day: date) -> str:
    """A hash of all that a district is told on a day and later."""
    told = []
    for line in lines(book, district, day):
        row = record(book, line, day)
        span = (row["from"], row["until"])
        told.append([span, {k: v for k, v in row.items() if k not in UNSAID}])
    return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()


def stale(book: Book, noted: Noted, day: date) -> list[str]:
    """The districts that would be told something else if it were published on a day."""
    return [d for d in book.districts if noted.answers.get(d) != answers(book, d, day)]
