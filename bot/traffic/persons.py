"""Who asks: where they live, how they come in, how they type."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import date, datetime

from bot.traffic.days import moment

CHANNELS = {"webchat": 60, "sms": 25, "panel": 15}
"""The share of each channel: an assumption, no source."""
MANNERS = {
    "webchat": {"plain": 46, "short": 24, "polite": 16, "story": 14},
    "sms": {"short": 58, "plain": 38, "polite": 4},
    "panel": {"notes": 100},
}


@dataclass(frozen=True, slots=True)
class Person:
    """One simulated person, or the caller an agent types for.

    `slips` is the chance of a slip in each longer word, `shorthand` that of a word written short,
    `tells_district` whether the channel says where they live, `at` when they begin.
    """

    number: int
    channel: str
    district: str
    manner: str
    tells_district: bool
    slips: float
    shorthand: float
    lower: bool
    at: datetime


def random_of(seed: int, start: date, end: date, number: int) -> random.Random:
    """The person's own random numbers: the same whoever else there is."""
    return random.Random(f"lidwise traffic {seed} {start} {end} {number}")


def person(
    rng: random.Random, number: int, districts: tuple[str, ...], start: date, end: date
) -> Person:
    """A person who asks in a period."""
    channel = chosen(rng, CHANNELS)
    shares = [3.0, 2.0, 2.6]
    district = rng.choices(districts, (shares * len(districts))[: len(districts)])[0]
    sms = channel == "sms"
    return Person(
        number=number,
        channel=channel,
        district=district,
        manner=chosen(rng, MANNERS[channel]),
        tells_district=not sms and rng.random() < (0.92 if channel == "panel" else 0.72),
        slips=rng.choice((0.0, 0.0, 0.0, 0.03, 0.08)),
        shorthand=rng.choice((0.0, 0.3, 0.7)) if sms else 0.0,
        lower=rng.random() < (0.75 if sms else 0.45),
        at=moment(rng, start, end, agents=channel == "panel"),
    )


def chosen(rng: random.Random, shares: dict[str, int]) -> str:
    """One of the names, by their shares."""
    return rng.choices(list(shares), list(shares.values()))[0]
