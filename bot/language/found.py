"""What is found in a message, and the state the pipeline's parts share."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from spacy.tokens import Doc

from bot.language.guess import Guesser
from bot.language.lexicon import Lexicon, Target
from bot.language.words import Word, phrase_words

if TYPE_CHECKING:
    from bot.language.tagger import Tagger


@dataclass(frozen=True, slots=True)
class Found:
    """Something of the rule book in a message: words `first` up to but not `last`.

    `negated`: a denial stands before it. `denial`: its own words are one ("not swollen").
    """

    target: Target
    first: int
    last: int
    negated: bool = False
    denial: bool = False

    def covers(self, other: Found) -> bool:
        """Whether the other lies within this one and is shorter."""
        inside = self.first <= other.first and other.last <= self.last
        return inside and (self.last - self.first) > (other.last - other.first)


@dataclass(frozen=True, slots=True)
class Unknown:
    """A thing the rules do not know, words `first` up to but not `last`."""

    first: int
    last: int
    english: bool


@dataclass
class Findings:
    """What each part of the pipeline adds to a message."""

    words: list[Word] = field(default_factory=list)
    names: list[Found] = field(default_factory=list)
    facts: list[Found] = field(default_factory=list)
    live: list[Found] = field(default_factory=list)
    live_of_last: list[Found] = field(default_factory=list)
    marks: list[Found] = field(default_factory=list)
    days: list[tuple[str, int, int]] = field(default_factory=list)
    unknown: list[Unknown] = field(default_factory=list)
    topics: list[tuple[str, float]] = field(default_factory=list)
    asked: dict[int, float] = field(default_factory=dict)
    described: bool = False
    asked_words: dict[int, float] = field(default_factory=dict)
    guesses: list[tuple[str, str, float]] = field(default_factory=list)

    def of(self, *kinds: str) -> list[Found]:
        """The names of some kinds."""
        return [n for n in self.names if n.target.kind in kinds]

    def norm(self, first: int, last: int) -> str:
        """The compared words of a stretch."""
        return " ".join(w.norm for w in self.words[first:last] if w.is_word)


PARTS = {
    "spelling": "spelling",
    "turned": "names the other way round",
    "heads": "last noun of a compound",
    "asked": "asked or only mentioned",
    "tags": "sequence model of what is asked",
    "negation": "negation",
    "owners": "whose condition it is",
    "marks": "marks on packaging",
    "danger": "danger that is none",
    "unknown": "unknown things",
    "topics": "likeness to topics",
    "guesses": "guessed replies",
    "intent": "intent classifier",
}
"""Parts of the pipeline that can be left out, by name, with what they find."""


if not Doc.has_extension("findings"):
    Doc.set_extension("findings", default=None)


@dataclass
class Context:
    """What the parts need beside the message: the lexicon and the words of question frames.

    `frame` are words of questions about waste that are not things; `seen` all words of the
    training data. `off` are parts left out, to measure what each is worth: some of `PARTS`.
    `tagger` tells what is asked from what is mentioned; without one, rules alone do.
    """

    lexicon: Lexicon
    frame: frozenset[str]
    seen: frozenset[str]
    off: frozenset[str] = frozenset()
    tagger: Tagger | None = None

    def has(self, part: str) -> bool:
        """Whether a part is not left out."""
        return part not in self.off

    def __post_init__(self) -> None:
        self.guesser = Guesser(self.lexicon.book)
        self.asked = {
            (topic.id, text): " ".join(phrase_words(text))
            for topic in self.lexicon.book.topics.values()
            for text in topic.says
        }


CONTEXTS: dict[str, Context] = {}
"""Contexts by name, for the factories of the pipeline (spaCy passes them plain settings only)."""
