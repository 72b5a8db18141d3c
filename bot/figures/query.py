"""What a report is asked for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from bot.figures.period import LONGEST, Period, today, written
from bot.processes import Failed
from rules.model import Book

USUAL = timedelta(days=27)
"""A report that names no days is for the last four weeks."""


@dataclass(frozen=True, slots=True)
class Query:
    """The period, and whose questions: of a district, of a channel, from the simulator or not.

    `change` is a day to compare before and after. `demo` of `None` takes residents' questions if
    there are any in the period, and the demo's if not.
    """

    period: Period
    district: str | None = None
    channel: str | None = None
    change: date | None = None
    demo: bool | None = None


def asked(
    book: Book,
    start: str = "",
    end: str = "",
    district: str = "",
    channel: str = "",
    change: str = "",
    demo: bool | None = None,
) -> Query:
    """A query from what a person wrote. Raises `Failed` with the cure if something is wrong."""
    last = day(end, "last day") or today()
    first = day(start, "first day") or last - USUAL
    if first > last:
        raise Failed(f"The period ends before it starts: {first} is after {last}.")
    period = Period(first, last)
    if len(period) > LONGEST:
        raise Failed(f"A period may have {LONGEST} days; this one has {len(period):,}.")
    name = district.strip().lower()
    if name and name not in book.districts:
        raise Failed(f"There is no district '{district}'. There are: {', '.join(book.districts)}.")
    turning = day(change, "day of the change")
    if turning and not first < turning <= last:
        raise Failed(
            f"The change on {written(turning)} needs days on both sides. "
            f"Choose a day after {written(first)} and not after {written(last)}."
        )
    return Query(period, name or None, channel.strip().lower() or None, turning, demo)


def day(text: str, what: str) -> date | None:
    """A date, or nothing if nothing is written."""
    if not text.strip():
        return None
    try:
        found = date.fromisoformat(text.strip())
    except ValueError:
        raise Failed(
            f"The {what}, '{text[:40]}', is no date. Write it as year-month-day: 2027-02-10."
        ) from None
    if not 2000 <= found.year <= 2200:
        raise Failed(f"The {what}, {found}, is too far away.")
    return found
