"""Masks what tells of a person in a message: for what is stored, never for what is answered."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache

from bot.privacy.contact import emails, phones, postcodes
from bot.privacy.found import KINDS, Found
from bot.privacy.houses import houses
from bot.privacy.names import people

LONGEST = 5_000
"""Characters of a text that are looked at; what is behind them is left out of what is stored."""

PARTS: tuple[Callable[[str], Iterable[Found]], ...] = (emails, phones, postcodes, houses, people)


@cache
def rank(kind: str) -> int:
    """Which of two that overlap counts."""
    return KINDS.index(kind)


def findings(text: str) -> list[Found]:
    """What tells of a person, in the order of the text; no two overlap."""
    text = text[:LONGEST]
    kept: list[Found] = []
    for part in PARTS:
        for found in part(text):
            if found.start < found.end and not any(found.meets(k) for k in kept):
                kept.append(found)
    return sorted(kept, key=lambda f: f.start)


def masked(text: str) -> str:
    """The text with "[name]", "[phone]", "[email]", "[postcode]" or "[house number]" in place of
    each finding. Masking it again changes nothing."""
    told, at = [], 0
    for found in findings(text):
        told += [text[at : found.start], f"[{found.kind}]"]
        at = found.end
    return "".join([*told, text[at:LONGEST]])
