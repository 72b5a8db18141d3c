"""The existing items nearest to what people asked, and what each would answer in each district."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import log

from rapidfuzz import fuzz, process

from actions.phrases import assumptions
from bot.language.words import phrase_words
from bot.pages.items import condition
from bot.review.form import Form, form_of, slip
from rules.decide import Decision, Leaf, leaves
from rules.model import Book

MOST = 5
HEAD = 1.5
"""What the noun counts more than the words before it."""
ALIKE = 88.0
"""Likeness of two names, of 100, from which they are called spelt alike."""
LEAST = 0.2
"""Part of a phrase's weight that an item must share."""
TOPIC = 60.0
"""Likeness of a message to a topic's question, of 100, as for the assistant's own reading."""


@dataclass(frozen=True, slots=True)
class Near:
    """An item near to a phrase. `name` is the name that is near, `because` says how."""

    item: str
    name: str
    score: float
    because: str


class Nearest:
    """The names of one book, by their words."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.names: list[tuple[str, str, Form]] = [
            (item.id, name, form_of(name))
            for item in book.items.values()
            for name in (item.name, *item.also)
        ]
        self.holders: dict[str, list[int]] = {}
        for number, (_, _, form) in enumerate(self.names):
            for word in dict.fromkeys(form.words):
                self.holders.setdefault(word, []).append(number)
        self.joined = ["".join(form.words) for _, _, form in self.names]
        every = len(self.names)
        self.weight = {w: log(1 + every / len(n)) for w, n in self.holders.items()}
        self.heaviest = log(1 + every)

    def of(self, forms: Sequence[Form], most: int = MOST) -> list[Near]:
        """The items nearest to any of some phrases, nearest first."""
        best: dict[str, Near] = {}
        for form in forms:
            for near in self.near(form):
                if near.item not in best or near.score > best[near.item].score:
                    best[near.item] = near
        return sorted(best.values(), key=lambda n: (-n.score, n.item))[:most]

    def near(self, form: Form) -> list[Near]:
        """The items near to one phrase, each under its nearest name."""
        shared: dict[int, dict[str, str]] = {}
        for word in dict.fromkeys(form.words):
            for other in self.same_words(word):
                for number in self.holders[other]:
                    shared.setdefault(number, {}).setdefault(word, other)
        found = [self.by_words(form, n, words) for n, words in shared.items()]
        whole = "".join(form.words)
        if len(whole) > 3:
            alike = process.extract(
                whole, self.joined, scorer=fuzz.ratio, score_cutoff=ALIKE, limit=20
            )
            for _, likeness, number in alike:
                item, name, _ = self.names[number]
                found.append(Near(item, name, likeness / 100, "spelt alike"))
        return [n for n in found if n.score >= LEAST]

    def same_words(self, word: str) -> list[str]:
        """The words of names that are a word, slips included."""
        if word in self.holders:
            return [word]
        alike = process.extract(
            word, list(self.holders), scorer=fuzz.ratio, score_cutoff=70.0, limit=20
        )
        return [other for other, _, _ in alike if slip(word, other)]

    def by_words(self, form: Form, number: int, words: dict[str, str]) -> Near:
        """How near a name is by the words it shares: rare ones and the noun count most."""
        item, name, other = self.names[number]

        def weigh(ws: Sequence[str], head: str | None) -> float:
            return sum(
                self.weight.get(words.get(w, w), self.heaviest) * (HEAD if w == head else 1.0)
                for w in dict.fromkeys(ws)
            )

        both = weigh(list(words), form.head)
        score = 2 * both / (weigh(form.words, form.head) + weigh(other.words, other.head))
        same_head = form.head in words and words[form.head] == other.head
        if not same_head and form.head is not None:
            score *= 0.6
        listed = " ".join(w for w in form.words if w in words)
        return Near(item, name, score, f"same noun: {listed}" if same_head else f"shares: {listed}")


LAST: dict[str, Nearest] = {}
"""The names of the last book, by its version."""


def nearest_in(book: Book) -> Nearest:
    """The names of a book; laid out anew when it is another one."""
    if book.version not in LAST:
        made = Nearest(book)
        LAST.clear()
        LAST[book.version] = made
    return LAST[book.version]


def answers(book: Book, item: str, day: date) -> list[tuple[list[str], list[tuple[str, str]]]]:
    """What an item answers: districts that are alike, and for each case where it goes then.

    Where it goes is named as all districts name it, not by the container's own name.
    """
    found: dict[tuple[tuple[str, str], ...], list[str]] = {}
    for district in book.districts:
        cases: dict[str, list[Leaf]] = {}
        for leaf in leaves(book, district, day, item, {}, frozenset()):
            cases.setdefault(place(book, leaf.decision), []).append(leaf)
        one = len(cases) == 1
        told = tuple(("" if one else condition(book, ls), text) for text, ls in cases.items())
        found.setdefault(told, []).append(book.districts[district].name)
    return [(names, list(cases)) for cases, names in found.items()]


def place(book: Book, decision: Decision) -> str:
    """Where a decision sends a thing, with what it takes as given."""
    assumed = assumptions(book, decision)
    name = book.destinations[decision.destination].name
    return name + (f" (if {assumed})" if assumed else "")


def topics(book: Book, texts: Sequence[str], most: int = 3) -> list[tuple[str, str]]:
    """The topics whose questions are most like some messages: id and title, nearest first."""
    asked = {(t.id, s): " ".join(phrase_words(s)) for t in book.topics.values() for s in t.says}
    best: Counter[str] = Counter()
    for text in texts:
        plain = " ".join(phrase_words(text))
        for _, score, key in process.extract(
            plain, asked, scorer=fuzz.token_sort_ratio, limit=3, score_cutoff=TOPIC
        ):
            best[key[0]] = max(best[key[0]], int(score))
    ranked = sorted(best, key=lambda t: (-best[t], t))[:most]
    return [(t, book.topics[t].title) for t in ranked]
