"""Gathers what the officer should look at: faults of the record, remarks, questions left open."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from typing import Any

import sqlalchemy as sa

from bot.record.entry import TABLE
from bot.record.entry import Entry as Row
from bot.record.store import Record
from bot.remarks import Remark
from bot.review.entry import Entry

FOR = timedelta(days=90)
"""How far back it is looked for conversations that ended at a question."""
QUIET = timedelta(hours=1)
"""How long nothing was said before a question counts as left: common practice, no source."""
PREVIEW = "preview"
"""The channel of the officer's own trials."""
SIGN = re.compile(r"dangers\.ya?ml: (?P<sign>[a-z][a-z0-9_]*)$")
"""How the answer to an unknown thing with a hazard sign names its rule."""


def gather(record: Record, remarks: Iterable[Remark], now: datetime | None = None) -> list[Entry]:
    """All there is to look at, oldest first. What was forgotten is not among it."""
    now = now or datetime.now(timezone.utc)
    found = [e for row in record.faulty() for e in of_row(row)]
    found += left_open(record, now)
    found += of_remarks(remarks, record, found)
    kept = [e for e in found if e.channel != PREVIEW and (e.question or e.note)]
    return sorted(kept, key=lambda e: (e.at, e.id[:1], int(e.id[1:].split(".")[0])))


def of_row(row: Row) -> Iterator[Entry]:
    """The entries of a turn: one for each thing that is not as it should be."""
    if row.question is None or row.fault is None:
        return
    if row.fault in ("unclear", "failed"):
        yield from_row(row, (row.fault,), said=row.question)
    for number, thing in enumerate(row.items):
        if row.fault in ("unclear", "failed") or thing.get("destination") is None:
            continue
        if thing.get("item") is None:
            yield replace(of_thing(row, "unknown", thing), id=f"a{row.id}.{number}")
        for condition in thing.get("unsettled") or ():
            made = replace(of_thing(row, "unsettled", thing), condition=condition)
            yield replace(made, id=f"a{row.id}.{number}")


def of_thing(row: Row, why: str, thing: Mapping[str, Any]) -> Entry:
    """The entry of one thing of a turn."""
    return from_row(row, (why,), said=str(thing.get("asked_as") or row.question), thing=thing)


def from_row(
    row: Row, whys: tuple[str, ...], said: str, thing: Mapping[str, Any] | None = None
) -> Entry:
    """An entry with all the record says of a turn."""
    thing = thing or {}
    return Entry(
        id=f"a{row.id}",
        at=row.at,
        channel=row.channel,
        whys=whys,
        question=row.question or "",
        said=said,
        conversation=row.conversation,
        turn=row.turn,
        demo=row.demo,
        district=row.district,
        on=row.on,
        item=thing.get("item"),
        destination=thing.get("destination"),
        container=thing.get("container"),
        facts=dict(thing.get("facts") or {}),
        sign=sign_of(thing),
        rule=thing.get("rule"),
        source=thing.get("source"),
        book=row.book,
        intent=row.intent,
        confidence=row.confidence,
    )


def sign_of(thing: Mapping[str, Any]) -> str | None:
    """The hazard sign that decided an unknown thing."""
    found = SIGN.search(str(thing.get("rule") or ""))
    return found["sign"] if found and thing.get("item") is None else None


def left_open(record: Record, now: datetime) -> Iterator[Entry]:
    """The conversations that ended at a question, by their last turn."""
    start, end = ((now - t).isoformat(timespec="seconds") for t in (FOR, QUIET))
    last = (
        sa.select(sa.func.max(TABLE.c.id))
        .where(TABLE.c.conversation.isnot(None), TABLE.c.at >= start)
        .group_by(TABLE.c.conversation)
    )
    for row in record.entries(
        sa.select(TABLE)
        .where(TABLE.c.id.in_(last), TABLE.c.question.isnot(None))
        .where(TABLE.c.asks.isnot(None), TABLE.c.at <= end)
        .order_by(TABLE.c.id)
    ):
        item, condition = (row.asks or {}).get("item"), (row.asks or {}).get("condition")
        asked = next(
            (t for t in row.items if t.get("destination") is None and t.get("item") == item), {}
        )
        made = from_row(row, ("unanswered",), asked.get("asked_as") or row.question or "", asked)
        yield replace(made, item=item, condition=condition)


def of_remarks(remarks: Iterable[Remark], record: Record, found: list[Entry]) -> list[Entry]:
    """The entries of remarks that found fault.

    A remark on a turn that is here for the same thing joins that entry in `found`.
    """
    places = {(e.conversation, e.turn, e.item): k for k, e in enumerate(found) if e.turn}
    made = []
    for remark in remarks:
        if remark.kind == "right" or not (remark.question or remark.note):
            continue
        row = row_of(record, remark)
        for entry in from_remark(remark, row):
            place = places.get((entry.conversation, entry.turn, entry.item))
            if place is None:
                made.append(entry)
                continue
            there = found[place]
            found[place] = replace(there, whys=(*there.whys, remark.kind), note=remark.note)
    return made


def row_of(record: Record, remark: Remark) -> Row | None:
    """The turn a remark is about, as far as it is recorded."""
    if remark.turn is None:
        return None
    return next((r for r in record.of(remark.conversation) if r.turn == remark.turn), None)


def from_remark(remark: Remark, row: Row | None) -> Iterator[Entry]:
    """The entries of a remark: one for each thing of the answer, or one for the question."""
    things = list((row.items if row else (remark.reply or {}).get("items")) or ())
    for number, thing in enumerate(things or [{}]):
        yield Entry(
            id=f"r{remark.id}.{number}" if number else f"r{remark.id}",
            at=remark.at,
            channel=remark.channel,
            whys=(remark.kind,),
            question=remark.question,
            said=str(thing.get("asked_as") or remark.question or remark.note),
            conversation=remark.conversation,
            turn=remark.turn,
            demo=remark.demo or bool(row and row.demo),
            district=remark.district,
            on=remark.on,
            item=thing.get("item"),
            destination=thing.get("destination"),
            container=thing.get("container"),
            facts=dict(thing.get("facts") or {}),
            sign=sign_of(thing),
            note=remark.note,
            rule=thing.get("rule"),
            source=thing.get("source"),
            book=row.book if row else None,
            intent=row.intent if row else "",
            confidence=row.confidence if row else 0.0,
        )
