"""What the intent classifier sees of a message, as strings: words, masks and manners."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from bot.language.found import Findings
from bot.language.manner import manners

COUNTED = ("itemword", "nounword", "thingword", "noiseword", "condword", "dateword")
"""Masks whose number in a message tells something."""


def evidence(findings: Findings, masks: Sequence[str]) -> Iterator[str]:
    """The evidence in a message. `masks` are its words with what the book knows masked.

    The masked words, two and three in a row, tell how a message is put, whatever it is about. The
    words as they are, which training has seen, tell what it is about: few of them are of waste.
    """
    bounded = ["<", *masks, ">"]
    yield from (f"m:{m}" for m in masks)
    yield from (f"m:{one} {two}" for one, two in pairwise(bounded))
    yield from (
        f"m:{a} {b} {c}" for a, b, c in zip(bounded, bounded[1:], bounded[2:], strict=False)
    )
    words = [w.norm for w in findings.words]
    yield from (f"w:{w}" for w in words)
    yield from (f"w:{one} {two}" for one, two in pairwise(words))
    yield from (f"is {m}" for m in manners(findings))
    for mask in COUNTED:
        yield f"{mask}: {min(masks.count(mask), 4)}"
    told = sum(m.endswith("word") for m in masks)
    yield f"told: {round(10 * told / max(1, len(masks)))}"
    yield f"long: {min(len(masks) // 4, 10)}"
    if findings.asked:
        yield f"asked: {round(5 * max(findings.asked.values()))}"
