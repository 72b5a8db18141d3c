"""When residents ask: days, hours and seasons, by the clock on the wall in England."""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from bot.traffic.phrases import read

HERE = ZoneInfo("Europe/London")


def moment(rng: random.Random, start: date, end: date, agents: bool = False) -> datetime:
    """A moment in a period, both days included: fewer at night, more on a Monday.

    With `agents`, one in the contact centre's hours, if the period has any.
    """
    told = read("seasons")
    days = [start + timedelta(days=n) for n in range((end - start).days + 1)]
    weights = [float(told["week"][d.weekday()]) for d in days]
    hours = [float(h) for h in told["hours"]]
    if agents:
        at_work = [d.weekday() < told["agents"]["days"] for d in days]
        if any(at_work):
            weights = [w * a for w, a in zip(weights, at_work, strict=True)]
        hours = [h * (n in told["agents"]["hours"]) for n, h in enumerate(hours)]
    day = rng.choices(days, weights)[0]
    hour = rng.choices(range(24), hours)[0]
    seconds = rng.randrange(3600)
    return datetime(day.year, day.month, day.day, hour, seconds // 60, seconds % 60, tzinfo=HERE)


def factor(season: str | None, day: date) -> float:
    """How much more (or less) a season's things are asked about on a day; 1 without a season."""
    if season is None:
        return 1.0
    told = read("seasons")["seasons"][season]
    inside = within(str(told["from"]), str(told["to"]), day)
    return float(told["times"] if inside else told["otherwise"])


def within(start: str, end: str, day: date) -> bool:
    """Whether a day lies in a season: month-day each year (over New Year too), or once by year."""
    if len(start) > 5:
        return start <= day.isoformat() <= end
    told = f"{day:%m-%d}"
    return start <= told <= end if start <= end else told >= start or told <= end
