"""How people type: shorthand, slips of the finger, no capitals."""

from __future__ import annotations

import random
import re

from bot.traffic.persons import Person
from bot.traffic.phrases import read

LONG = 5
"""Letters from which a word may have a slip in it."""
WORD = re.compile(r"[A-Za-z]+")


def typed(rng: random.Random, person: Person, text: str) -> str:
    """A text as this person types it."""
    short = read("style")["shorthand"]

    def word(match: re.Match[str]) -> str:
        told = match[0]
        if person.shorthand and told.lower() in short and rng.random() < person.shorthand:
            return str(short[told.lower()])
        if person.slips and len(told) >= LONG and rng.random() < person.slips:
            return slip(rng, told)
        return told

    text = WORD.sub(word, text)
    return text.lower() if person.lower else text


def slip(rng: random.Random, word: str) -> str:
    """A word with one slip: two letters swapped, one left out, doubled, or the key beside it."""
    at = rng.randrange(1, len(word) - 1)
    kind = rng.randrange(4)
    if kind == 0:
        return word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    if kind == 1:
        return word[:at] + word[at + 1 :]
    if kind == 2:
        return word[:at] + word[at] + word[at:]
    beside = read("style")["keys"].get(word[at].lower(), word[at])
    return word[:at] + rng.choice(beside) + word[at + 1 :]
