"""The turns of a stored conversation, with what was understood and remembered at each."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from actions.handlers import SLOT
from bot.record import turns as record
from bot.record.entry import Entry
from bot.record.store import Record
from bot.storage import engine

EVENTS = sa.table(
    "events",
    *(sa.column(name) for name in ("id", "sender_id", "type_name", "timestamp", "data")),
)
FILE = "conversations.db"

Event = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn. `entities` is what the language part found, `memory` what was remembered after
    it, `texts` what the assistant said."""

    entry: Entry
    entities: list[dict[str, Any]] = field(default_factory=list)
    memory: dict[str, Any] = field(default_factory=dict)
    texts: list[str] = field(default_factory=list)


def turns(data: Path, conversation: str) -> list[Turn]:
    """The turns of a conversation, in order; none if there is no such conversation."""
    if not (data / FILE).exists():
        return []
    rows = Record(data).of(conversation)
    found = list(parts(stored(data, conversation)))
    known = {(row.at, row.question): row for row in rows}
    told = [made(conversation, user, events, known) for user, events in found]
    seen = {turn.entry.id for turn in told}
    # A turn whose events are gone, or that was never one of the framework's, has its row alone.
    told += [Turn(row) for row in rows if row.id not in seen]
    return sorted(told, key=lambda turn: (turn.entry.at, turn.entry.id))


def stored(data: Path, conversation: str) -> list[Event]:
    """A conversation's events, as the framework stored them."""
    query = (
        sa.select(EVENTS.c.data)
        .where(EVENTS.c.sender_id == conversation)
        .where(EVENTS.c.type_name.in_(("user", "bot", "slot")))
        .order_by(EVENTS.c.id)
    )
    opened = engine(data / FILE, shared=True)
    with opened.connect() as connection:
        if not sa.inspect(connection).has_table("events"):
            return []
        return [json.loads(text) for (text,) in connection.execute(query)]


def parts(events: list[Event]) -> Iterator[tuple[Event, list[Event]]]:
    """Each message with what followed it."""
    user: Event | None = None
    after: list[Event] = []
    for event in events:
        if event["event"] == "user":
            if user is not None:
                yield user, after
            user, after = event, []
        else:
            after.append(event)
    if user is not None:
        yield user, after


def made(
    conversation: str,
    user: Event,
    after: list[Event],
    known: Mapping[tuple[str, str | None], Entry],
) -> Turn:
    """A turn from its events. Its row is the record's, or made anew for one older than that."""
    replies = [event for event in after if event["event"] == "bot"]
    row = record.row(conversation, user, replies, False)
    entry = known.get((row["at"], row["question"])) or Entry(id=0, **row)
    slots = [e for e in after if e["event"] == "slot" and e.get("name") == SLOT]
    memory = (slots[-1].get("value") if slots else None) or {}
    entities = (user.get("parse_data") or {}).get("entities") or []
    texts = [str(event["text"]) for event in replies if event.get("text")]
    return Turn(entry, list(entities), dict(memory), texts)
