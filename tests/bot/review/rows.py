"""Rows of the record as turns leave them, for the tests of the review list."""

from __future__ import annotations

import itertools
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

from bot.record.store import Record, add

NUMBER = itertools.count(1)
NOW = datetime(2026, 11, 29, 18, 0, tzinfo=timezone.utc)


def thing(item: str | None, said: str, goes: str | None, **more: Any) -> dict[str, Any]:
    """A thing of an answer."""
    blank = {"alternatives": [], "rule": None, "source": "", "facts": {}, "assumed": []}
    named = {"item": item, "asked_as": said, "destination": goes, "container": None}
    return {**named, **blank, "unsettled": [], "asked": item, **more}


def row(question: str, fault: str | None, *items: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A turn, a conversation of its own unless one is named."""
    number = next(NUMBER)
    blank = {
        "at": "2026-11-20T10:00:00+00:00",
        "conversation": f"review-{number}",
        "turn": f"turn-{number}",
        "channel": "webchat",
        "demo": False,
        "district": "pellbrook",
        "on": "2026-11-20",
        "kind": "unclear" if fault == "unclear" else "cautious",
        "question": question,
        "intent": "ask_destination",
        "confidence": 0.8,
        "book": "abcdef123456",
        "items": list(items),
        "asks": None,
        "meant": [],
        "fault": fault,
    }
    return {**blank, **more}


def unknown(said: str, question: str = "", goes: str = "residual", **more: Any) -> dict[str, Any]:
    """A turn about a thing no rule knows."""
    rule = more.pop("rule", "scheme.yml: fallback")
    asked = question or f"where does {said} go"
    return row(asked, "unknown", thing(None, said, goes, rule=rule), **more)


def left(item: str, condition: str, said: str, **more: Any) -> dict[str, Any]:
    """A turn that ended at a question."""
    asks = {"item": item, "condition": condition}
    made = row(f"where does {said} go", None, thing(item, said, None), asks=asks, **more)
    return {**made, "kind": "question"}


def keep(data: Path, *rows: dict[str, Any]) -> Record:
    """The record of a data folder with rows in it."""
    record = Record(data)
    with record.engine.begin() as connection:
        add(connection, rows)
    return record
