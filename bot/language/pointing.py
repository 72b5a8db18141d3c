"""Tells whether a message speaks of what was talked of before: "it", "those", "the other one"."""

from __future__ import annotations

from collections.abc import Iterator

from bot.language.words import language


def pointing(text: str, first: int) -> Iterator[str]:
    """The ways a message points back; `first` is where its first thing is named, or its length.

    `pointing`: it has a word for something told before. `pointing_first`: that stands before any
    name, and does not say what the thing is ("it's a duvet"). `wrapping`: what it names is what
    that came in ("the plastic it came in").
    """
    lang = language()
    spoken = plain(text)
    if points(spoken):
        yield "pointing"
    before = lang.pointing["expletive"].sub(" ", plain(text[:first])).split()
    if before and before[-1] in lang.determiners:
        before.pop()
    if "its" in before[-3:]:
        before = before[: -before[::-1].index("its") - 1]
    said = " ".join(before)
    identifies = first < len(text) and lang.pointing["identifies"].search(said)
    if points(said) and not identifies:
        yield "pointing_first"
    if lang.pointing["wrapping"].search(spoken):
        yield "wrapping"


def plain(text: str) -> str:
    """Text in small letters, apostrophes apart, one space between words."""
    return " ".join(text.lower().replace("'", " ").split())


def points(spoken: str) -> bool:
    """Whether words have one that speaks of something told before."""
    lang = language()
    return bool(lang.pronouns & set(spoken.split()) or lang.pointing["another"].search(spoken))
