"""What people do with a reply: answer its question, ask on, judge it, or leave."""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bot.traffic.oracle import Meant
from bot.traffic.persons import Person
from bot.traffic.phrases import read
from rules.model import DISTRICT

if TYPE_CHECKING:
    from bot.traffic.visits import Heard

WAYS = {
    "webchat": {"label": 46, "own": 36, "vague": 8, "leave": 10},
    "sms": {"digit": 60, "own": 26, "vague": 6, "leave": 8},
    "panel": {"own": 66, "label": 24, "vague": 5, "leave": 5},
}
"""How people answer what is asked back, of a hundred: an assumption, no source."""
STILL_UNSURE = 0.6
"""The share of those who could not say that cannot when they are asked once more."""
SLIPPED = ("unclear", "referral")
"""Kinds of reply that tell a person who asked about a thing to say it otherwise."""


@dataclass(frozen=True, slots=True)
class Said:
    """A reply to a question: typed by hand or chosen, and whether it settles nothing."""

    text: str
    by_hand: bool = False
    vague: bool = False


def reply(
    rng: random.Random,
    person: Person,
    heard: Heard,
    meant: Meant,
    case: dict[str, str],
    unsure: bool = False,
) -> Said | None:
    """The reply to a question, `None` for none. What it says of the thing is noted as said.

    `unsure` tells that the person could not say when the question was put before.
    """
    asks = heard.answer["asks"]
    if not asks:
        if heard.buttons and rng.random() < 0.7:
            return Said("1" if person.channel == "sms" else heard.buttons[0])
        return None
    ways = WAYS[person.channel]
    way = rng.choices(list(ways), list(ways.values()))[0]
    if way == "leave":
        return None
    vague = way == "vague" or (unsure and rng.random() < STILL_UNSURE)
    if vague and asks["condition"] != DISTRICT:  # where they live, people know
        return Said(str(rng.choice(read("replies")["vague"])), by_hand=True, vague=True)
    options = {o["value"]: o["label"] for o in asks["options"]}
    value = value_of(rng, person, asks["condition"], list(options), case)
    if asks["condition"] != DISTRICT:
        meant.facts[asks["condition"]] = value
    if way == "digit":
        return Said(str(list(options).index(value) + 1))
    if way == "label":
        return Said(str(options[value]))
    return Said(own_words(rng, asks["condition"], value, options[value]), by_hand=True)


def value_of(
    rng: random.Random, person: Person, condition: str, values: list[str], case: dict[str, str]
) -> str:
    """What is the case: what the person's story says, else what is likely."""
    if condition == DISTRICT:
        return person.district if person.district in values else values[0]
    if case.get(condition) not in values:
        likely = read("replies")["mostly"].get(condition) or values
        case[condition] = rng.choice([v for v in likely if v in values] or values)
    return case[condition]


def own_words(rng: random.Random, condition: str, value: str, label: str) -> str:
    """The value in a resident's words; where there are none, the button's."""
    told = read("replies")
    if condition == DISTRICT:
        return str(rng.choice(told["district"])).format(district=label)
    words = told["replies"].get(condition, {}).get(value)
    return str(rng.choice(words)) if words else label.lower()


def misread(heard: Heard) -> bool:
    """Whether a person who asked about a thing sees that they were not understood."""
    return heard.answer["kind"] in SLIPPED


def follow_on(rng: random.Random, meant: Meant) -> str:
    """Something more about the same thing."""
    own = meant.want.follow if meant.want else ()
    if own and rng.random() < 0.7:
        return rng.choice(own)
    kinds = read("small")["follow_on"]
    return str(rng.choice(kinds[rng.choice(list(kinds))]))


def verdict(rng: random.Random, person: Person, meant: Meant) -> tuple[str, str] | None:
    """What a person says of an answer: kind and note. Texters have no way to say it."""
    wrong = meant.verdict == "wrong"
    small = read("small")
    if person.channel == "webchat":
        if rng.random() < (0.3 if wrong else 0.03):
            return "wrong", str(rng.choice(small["notes_wrong"]))
        if not wrong and rng.random() < 0.14:
            return "right", str(rng.choice(small["notes_right"]))
    if person.channel == "panel":
        if meant.sort == "unknown" and rng.random() < 0.5:
            return "missing", str(rng.choice(small["notes_missing"]))
        if wrong and rng.random() < 0.3:
            return "wrong", str(rng.choice(small["notes_wrong"]))
    return None


def pause(rng: random.Random, person: Person) -> float:
    """Seconds until the next message: some to read and type, minutes by text message."""
    typical = {"webchat": 22.0, "sms": 75.0, "panel": 14.0}[person.channel]
    return min(rng.lognormvariate(0.0, 0.8) * typical + 3.0, 3000.0)
