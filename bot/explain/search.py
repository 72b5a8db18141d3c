"""Finds stored conversations: by day, words, district, channel, kind of answer."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, timezone
from pathlib import Path

import sqlalchemy as sa

from actions.current import SHELF
from bot.record.entry import TABLE
from bot.record.store import FILE, Record


@dataclass(frozen=True, slots=True)
class Asked:
    """What is looked for; what is `None` or empty does not matter."""

    on: date | None = None
    about: str = ""
    district: str | None = None
    channel: str | None = None
    kind: str | None = None
    conversation: str | None = None


@dataclass(frozen=True, slots=True)
class Hit:
    """A conversation: when it began and ended (local time), what was asked first, its turns."""

    conversation: str
    began: datetime
    ended: datetime
    channel: str
    district: str | None
    first: str
    turns: int
    kinds: tuple[str, ...]
    demo: bool


def bounds(day: date) -> tuple[str, str]:
    """The first and the last moment of a day here, as the record writes moments (UTC).

    A day no record can be of has none.
    """

    if not 2000 <= day.year <= 2200:
        return day.isoformat(), day.isoformat()

    def moment(of: date) -> str:
        there = datetime.combine(of, time()).astimezone().astimezone(timezone.utc)
        return there.isoformat(timespec="seconds")

    return moment(day), moment(day + timedelta(days=1))


def find(data: Path, asked: Asked, most: int = 25, skip: int = 0) -> tuple[list[Hit], bool]:
    """Conversations with a turn that fits, the newest first, and whether there are more."""
    if not (data / FILE).exists():
        return [], False
    t = TABLE.c
    fits = [t.conversation.isnot(None)]
    if asked.on:
        start, end = bounds(asked.on)
        fits += [t.at >= start, t.at < end]
    for column, value in (
        (t.district, asked.district),
        (t.channel, asked.channel),
        (t.kind, asked.kind),
        (t.conversation, asked.conversation),
    ):
        if value:
            fits.append(column == value)
    for word in asked.about.lower().split():
        ids = [i for i, item in SHELF.current().items.items() if word in item.name.lower()]
        named = [t["items"].contains(json.dumps(i), autoescape=True) for i in ids[:40]]
        heard = sa.func.lower(t.question).contains(word, autoescape=True)
        told = sa.func.lower(t["items"]).contains(word, autoescape=True)
        fits.append(sa.or_(heard, told, *named))
    query = (
        sa.select(t.conversation)
        .where(*fits)
        .group_by(t.conversation)
        .order_by(sa.func.max(t.id).desc())
        .limit(most + 1)
        .offset(skip)
    )
    record = Record(data)
    with record.engine.connect() as connection:
        names = [name for (name,) in connection.execute(query)]
    return [hit(record, name) for name in names[:most]], len(names) > most


def hit(record: Record, conversation: str) -> Hit:
    """A conversation as it is listed."""
    rows = record.of(conversation)
    first, last = rows[0], rows[-1]
    return Hit(
        conversation=conversation,
        began=datetime.fromisoformat(first.at).astimezone(),
        ended=datetime.fromisoformat(last.at).astimezone(),
        channel=first.channel,
        district=next((r.district for r in reversed(rows) if r.district), None),
        first=first.question or "",
        turns=len(rows),
        kinds=tuple(dict.fromkeys(r.kind for r in rows)),
        demo=first.demo,
    )


def channels(data: Path) -> list[str]:
    """The channels that anybody wrote by."""
    if not (data / FILE).exists():
        return []
    with Record(data).engine.connect() as connection:
        found = connection.execute(sa.select(TABLE.c.channel).distinct().order_by(TABLE.c.channel))
        return [name for (name,) in found]
