"""Rows of the record with known contents, for the tests of figures."""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta, timezone
from typing import Any

from bot.figures.period import day_of


@dataclass(frozen=True, slots=True)
class Row:
    """A row, with the fields of the record."""

    at: str = "2026-11-10T12:00:00+00:00"
    conversation: str | None = "c1"
    channel: str = "webchat"
    demo: bool = False
    district: str | None = "pellbrook"
    on: str | None = "2026-11-10"
    kind: str = "answer"
    items: list[dict[str, Any]] = field(default_factory=list)
    asks: dict[str, Any] | None = None
    meant: list[str] = field(default_factory=list)
    fault: str | None = None


@dataclass(frozen=True, slots=True)
class Remark:
    """A remark, with the fields of the store."""

    at: str = "2026-11-10T12:00:00+00:00"
    kind: str = "right"
    channel: str = "webchat"
    conversation: str = "c1"
    district: str | None = "pellbrook"


class Rows:
    """A record with given rows; the record's own way of choosing days (UTC)."""

    def __init__(self, rows: Iterable[Row]) -> None:
        self.rows = list(rows)

    def between(self, start: date, end: date, demo: bool | None = None) -> Sequence[Row]:
        after = (end + timedelta(days=1)).isoformat()
        return [
            r for r in self.rows if start.isoformat() <= r.at < after and demo in (None, r.demo)
        ]

    def of(self, conversation: str) -> Sequence[Row]:
        return [r for r in self.rows if r.conversation == conversation]


def thing(item: str | None, destination: str | None, said: str = "", **more: Any) -> dict[str, Any]:
    """A thing of a row."""
    blank = {"facts": {}, "alternatives": [], "unsettled": [], "asked": item}
    said = said or (item or "something").replace("_", " ")
    return {"item": item, "asked_as": said, "destination": destination, **blank, **more}


CHANNELS = ("webchat", "webchat", "webchat", "sms", "sms", "panel", "rest")
DISTRICTS = ("pellbrook", "pellbrook", "oxmere", "tarnside", None)
THINGS = (
    ("cereal_box", "paper_card", "paper_card"),
    ("milk_bottle", "containers", "containers"),
    ("crisp_tube", "residual", "containers"),
    ("tissues", "residual", "paper_card"),
    ("greetings_card", "paper_card", "residual"),
    (None, "residual", ""),
)
STRANGE = ("a didgeridoo", "the Theremin", "my theremin", "=cmd|' /C calc'!A0", "<b>lyre</b> $x$")


def made(
    count: int,
    seed: int = 1,
    start: date = date(2026, 11, 1),
    days: int = 28,
    demo: bool = False,
) -> list[Row]:
    """Turns such as the assistant makes: with second questions, other bins and unknown things."""
    chance = random.Random(seed)
    rows: list[Row] = []
    moment = datetime(start.year, start.month, start.day, tzinfo=timezone.utc)
    number = 0
    while len(rows) < count:
        number += 1
        moment += timedelta(days=days) / count
        at = moment.isoformat(timespec="seconds")
        here = {
            "at": at,
            "on": day_of(at).isoformat(),
            "conversation": f"c{number}",
            "demo": demo,
            "channel": chance.choice(CHANNELS),
            "district": chance.choice(DISTRICTS),
        }
        draw = chance.random()
        if draw < 0.08:
            kind = chance.choice(("small_talk", "referral", "unclear", "information"))
            rows.append(Row(**here, kind=kind))
        elif draw < 0.1:
            told = thing("tissues", "residual")
            rows.append(Row(**here, kind="information", items=[told], meant=["paper_card"]))
        elif draw < 0.12:
            told = thing("vape", "emergency")
            rows.append(Row(**here, kind="emergency", items=[told], meant=["residual"]))
        elif draw < 0.3:
            waiting = thing("pizza_box", None)
            meant = ["paper_card"] if chance.random() < 0.6 else []
            asks = {"item": "pizza_box", "condition": "food_origin"}
            rows.append(Row(**here, kind="question", items=[waiting], asks=asks, meant=meant))
            if chance.random() < 0.7:
                where = chance.choice(("residual", "residual", "paper_card"))
                told = thing("pizza_box", where, facts={"food_origin": "takeaway"})
                rows.append(Row(**here, items=[told]))
            elif chance.random() < 0.5:
                told = thing("pizza_box", "residual", unsettled=["food_origin"])
                rows.append(Row(**here, kind="cautious", items=[told]))
        else:
            item, where, other = chance.choice(THINGS)
            said = "" if item else chance.choice(STRANGE)
            meant = [other] if other and chance.random() < 0.3 else []
            kind = "answer" if item else "cautious"
            rows.append(Row(**here, kind=kind, items=[thing(item, where, said)], meant=meant))
    return rows[:count]
