"""How old is old: "90d", "12w", "6m", "2y" or a date."""

from __future__ import annotations

import re
from datetime import datetime

from dateutil.relativedelta import relativedelta

from bot.processes import Failed

UNITS = {"d": "days", "w": "weeks", "m": "months", "y": "years"}


def moment(told: str, now: datetime) -> datetime:
    """The moment that a period reaches back to from now, or the start of a day, in `now`'s zone.

    Raises `Failed` for what is neither, or lies in the future.
    """
    text = told.strip().lower()
    match = re.fullmatch(r"([0-9]{1,4})\s*([dwmy])", text)
    try:
        if match:
            return now - relativedelta(**{UNITS[match[2]]: int(match[1])})  # type: ignore[arg-type]
        day = datetime.strptime(text, "%Y-%m-%d").replace(tzinfo=now.tzinfo)
    except (ValueError, OverflowError):
        raise Failed(
            f"'{told}' is no age. Write it as days, weeks, months or years (90d, 12w, 6m, 1y), "
            "or as a date (2026-09-01)."
        ) from None
    if day > now:
        raise Failed(f"{told} is still to come. Nothing was forgotten.")
    return day
