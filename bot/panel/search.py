"""Finds items as an agent types: by the start of words, by slips, by other names."""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_left
from dataclasses import dataclass, field

from rapidfuzz import fuzz, process

from rules.model import Book
from rules.names import singular

MOST = 8
"""Items shown at once; a panel 360 px wide has room for no more."""
CLOSE = 76.0
"""Likeness of two words, of 100, from which one may be a slip of the other."""
PER_WORD = 12
"""Words that are taken for likely slips of one word."""
SMALL_WORDS = (
    "a an the of my our his her some old for to in on with and or is it what where does do go i"
)
SMALL = frozenset(re.findall("[a-z]+", SMALL_WORDS))
"""Words that name nothing; passed over unless nothing else is typed."""


@dataclass(frozen=True, slots=True)
class Match:
    """An item that matches. `also` is the other name that matched, unless its own did."""

    item: str
    name: str
    also: str | None
    section: str
    score: float


@dataclass(slots=True)
class Entry:
    """One name of one item."""

    item: str
    name: str
    own: bool
    words: tuple[str, ...]
    joined: str


@dataclass(slots=True)
class Index:
    """The names of a book, laid out for looking up."""

    book: Book
    entries: list[Entry] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    holders: dict[str, list[int]] = field(default_factory=dict)
    joined: list[tuple[str, int]] = field(default_factory=list)


def plain(text: str) -> list[str]:
    """The words of a text in small letters, without accents."""
    folded = unicodedata.normalize("NFKD", text.lower().replace("\u2019", "'"))
    bare = "".join(c for c in folded if not unicodedata.combining(c)).replace("'", "")
    return re.findall(r"[a-z0-9]+", bare)


def index(book: Book) -> Index:
    """Lay out the names of a book."""
    made = Index(book)
    for item in book.items.values():
        for name in dict.fromkeys((item.name, *item.also)):
            words = tuple(plain(name))
            if words:
                made.entries.append(Entry(item.id, name, name == item.name, words, "".join(words)))
    for number, entry in enumerate(made.entries):
        for word in {*entry.words, *map(singular, entry.words)}:
            made.holders.setdefault(word, []).append(number)
        made.joined.append((entry.joined, number))
    made.words = sorted(made.holders)
    made.joined.sort()
    return made


def starting(found: Index, word: str) -> list[str]:
    """The known words that start with a word."""
    at = bisect_left(found.words, word)
    end = bisect_left(found.words, word + "\uffff")
    return found.words[at:end]


def candidates(found: Index, word: str) -> dict[int, float]:
    """The names in which a typed word may stand, and how well it fits there, 0 to 1."""
    scores: dict[int, float] = {}
    for form, part in ((word, 1.0), (singular(word), 0.98)):
        for known in starting(found, form):
            fit = part * (0.75 + 0.25 * len(form) / len(known))
            for number in found.holders[known]:
                scores[number] = max(fit, scores.get(number, 0.0))
    if len(word) >= 4:
        near = process.extract(
            word, found.words, scorer=fuzz.ratio, score_cutoff=CLOSE, limit=PER_WORD
        )
        for known, likeness, _ in near:
            for number in found.holders[known]:
                scores[number] = max(0.7 * likeness / 100, scores.get(number, 0.0))
    return scores


def search(found: Index, text: str, most: int = MOST) -> list[Match]:
    """The items that match best, best first; none for a text without any letter or figure."""
    typed = plain(text)[:8]
    words = [w for w in typed if w not in SMALL] or typed
    if not words:
        return []
    totals: dict[int, float] = {}
    hits: dict[int, int] = {}
    for word in words:
        for number, fit in candidates(found, word).items():
            totals[number] = totals.get(number, 0.0) + fit
            hits[number] = hits.get(number, 0) + 1
    joined = "".join(words)
    least = len(words) if any(h == len(words) for h in hits.values()) else max(1, len(words) - 1)
    scores: dict[int, float] = {}
    for number, total in totals.items():
        if hits[number] < least:
            continue
        entry = found.entries[number]
        covered = min(1.0, len(words) / len(entry.words))
        scores[number] = 60 * total / len(words) * hits[number] / len(words) + 25 * covered
    whole = "".join(typed)
    for start in dict.fromkeys((joined, whole)):
        at = bisect_left(found.joined, (start, -1))
        while len(start) >= 3 and at < len(found.joined) and found.joined[at][0].startswith(start):
            name, number = found.joined[at]
            scores[number] = max(scores.get(number, 0.0), 70 + 20 * len(start) / len(name))
            at += 1
    if not scores and len(joined) >= 5:
        # "bubblewrapp", "bubble rapp": words run together, with a slip in them.
        names = [name for name, _ in found.joined]
        near = process.extract(joined, names, scorer=fuzz.ratio, score_cutoff=CLOSE, limit=most)
        for _, likeness, place in near:
            scores[found.joined[place][1]] = 60 * likeness / 100
    best: dict[str, Match] = {}
    for number, score in scores.items():
        entry = found.entries[number]
        if entry.joined in (joined, whole):
            score += 12
        if entry.words[0].startswith(words[0]):
            score += 4
        if entry.own:
            score += 8
        old = best.get(entry.item)
        if old is None or score > old.score:
            item = found.book.items[entry.item]
            also = None if entry.own else entry.name
            best[entry.item] = Match(entry.item, item.name, also, item.section, score)
    return sorted(best.values(), key=lambda m: (-m.score, len(m.name), m.name))[:most]


class Finder:
    """The search over the book in force; laid out anew when the book is another one."""

    def __init__(self) -> None:
        self.found: Index | None = None

    def look(self, book: Book, text: str) -> list[Match]:
        """The items that match."""
        if self.found is None or self.found.book is not book:
            self.found = index(book)
        return search(self.found, text)
