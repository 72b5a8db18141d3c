"""Days as people in the county count them, and the periods made of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

ZONE = ZoneInfo("Europe/London")
ONE = timedelta(days=1)
LONGEST = 731
"""Days of the longest period: two years."""


@dataclass(frozen=True, slots=True)
class Period:
    """Some days, both included. `start` is never after `end`."""

    start: date
    end: date

    def __iter__(self) -> Iterator[date]:
        for number in range(self.start.toordinal(), self.end.toordinal() + 1):
            yield date.fromordinal(number)

    def __len__(self) -> int:
        return (self.end - self.start).days + 1

    def __contains__(self, day: object) -> bool:
        return isinstance(day, date) and self.start <= day <= self.end


@lru_cache(maxsize=100_000)
def day_at(hour: str) -> date:
    """The UK day of an hour of UTC, "2026-07-01T23". Clocks here are whole hours off UTC."""
    moment = datetime.fromisoformat(f"{hour}:00:00+00:00")
    return moment.astimezone(ZONE).date()


def day_of(at: str) -> date:
    """The UK day of a moment: UTC in ISO 8601, or a day alone, which stays that day."""
    if len(at) == 10:
        return date.fromisoformat(at)
    if at.endswith(("+00:00", "Z")):
        return day_at(at[:13])
    return datetime.fromisoformat(at).astimezone(ZONE).date()


def today() -> date:
    """The day it is in the county."""
    return datetime.now(ZONE).date()


def around(change: date, period: Period, last: date) -> tuple[Period, Period] | None:
    """As many whole days before a change as from it on, all of them within a period.

    `last` is the last day that is over. `None` if one side has no day.
    """
    end = min(period.end, last)
    most = min((change - period.start).days, (end - change).days + 1)
    if most < 1:
        return None
    length = timedelta(days=most)
    return Period(change - length, change - ONE), Period(change, change + length - ONE)


def written(day: date) -> str:
    """A day as people write it: 1 February 2027."""
    return f"{day.day} {day:%B %Y}"
