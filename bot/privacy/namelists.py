"""Lists of names and of words, and the words of a message.

The names are those of a census of 1990 that the package `names` brings; `names.yml` has what they
lack. How often a word is a word is taken from the frequency list of `symspellpy`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

import names as census
import symspellpy
import yaml

from actions.current import SHELF
from bot import paths

MOST = 900.0
"""Millions of times a word is counted in English per hundredth of people of that name, above which
it is a word: 46 for David, 101 for Mark, 75,000 for Will. Set by looking at the lists."""
SMALL = 250.0
"""The same for a name in small letters that nothing announces."""
COMMON = 2_000_000
"""Count in English from which a word is common."""
SURNAMES = 20_000
"""Surnames that are known, the most common."""
LETTERS = "abcdefghijklmnopqrstuvwxyz"

TOKEN = re.compile(r"[^\W\d_]+(?:['\N{RIGHT SINGLE QUOTATION MARK}-][^\W\d_]+)*")


@dataclass(frozen=True, slots=True)
class Lists:
    """Words in small letters. `sure` are names that are hardly words, `surest` those that are
    names even if nothing announces them and they are written small."""

    given: frozenset[str]
    sure: frozenset[str]
    surest: frozenset[str]
    surnames: frozenset[str]
    sure_surnames: frozenset[str]
    common: frozenset[str]
    english: frozenset[str]
    told: dict[str, frozenset[str]]


@cache
def lists() -> Lists:
    """The lists, read once: a tenth of a second."""
    told = yaml.safe_load((paths.PROJECT / "bot" / "privacy" / "names.yml").read_text("utf-8"))
    data = Path(symspellpy.__file__).parent / "frequency_dictionary_en_82_765.txt"
    count = {}
    for line in data.read_text("utf-8-sig").splitlines():
        word, times = line.split()
        count[word] = int(times)
    share: dict[str, float] = {}
    for kind in ("first:male", "first:female"):
        for line in Path(census.FILES[kind]).read_text("ascii").splitlines():
            name, part, _, _ = line.lower().split()
            share[name] = share.get(name, 0.0) + float(part)
    more, words = frozenset(told["more"]), frozenset(map(str, told["words"]))

    def within(most: float) -> frozenset[str]:
        likely = {n for n, part in share.items() if count.get(n, 0) / 1e6 <= most * part}
        return frozenset(n for n in likely | more if len(n) > 2) - words

    last = {}
    with Path(census.FILES["last"]).open(encoding="ascii") as file:
        for line, _ in zip(file, range(SURNAMES), strict=False):
            name, part, _, _ = line.lower().split()
            last[name] = count.get(name, 0) / 1e6 <= MOST * float(part)
    lists_of = {k: frozenset(map(str, v)) for k, v in told.items()}
    common = frozenset(w for w, n in count.items() if n >= COMMON) - more
    given = frozenset(share) | more
    surely = frozenset(n for n, sure in last.items() if sure)
    return Lists(
        given=given,
        sure=within(MOST),
        surest=within(SMALL),
        surnames=frozenset(last),
        sure_surnames=surely,
        common=common,
        english=frozenset(count) - given,
        told=lists_of,
    )


@dataclass(frozen=True, slots=True)
class Word:
    """A word of the message. `told` is it in small letters, without a possessive ending."""

    start: int
    end: int
    told: str
    capital: bool


def split(text: str) -> list[Word]:
    """The words of a message. Where all is in capitals, none counts as one."""
    shouted = text.isupper()
    found = []
    for match in TOKEN.finditer(text):
        told, end = match[0].lower().replace("\N{RIGHT SINGLE QUOTATION MARK}", "'"), match.end()
        if told.endswith("'s"):
            told, end = told[:-2], end - 2
        found.append(Word(match.start(), end, told, match[0][0].isupper() and not shouted))
    return found


@cache
def words_of_book(version: str) -> frozenset[str]:
    """The words of things and places of the book in force: no name unless it is announced."""
    book = SHELF.current()
    told = [book.scheme.name, *book.districts, *(d.name for d in book.districts.values())]
    for item in book.items.values():
        told += [item.name, *item.also]
    told += [c.name for c in book.centres.values()]
    return frozenset(w.told for t in told for w in split(t))


def things() -> frozenset[str]:
    """The same of the book that is in force now."""
    return words_of_book(SHELF.current().version)


@lru_cache(10_000)
def slip(word: str) -> bool:
    """Whether a word is one slip away from a common one: a letter too many, too few, another, or
    two in the wrong order."""
    common, ends = lists().common, range(len(word) + 1)
    for at in ends:
        head, tail = word[:at], word[at:]
        near = [head + tail[1:], head + tail[1:2] + tail[:1] + tail[2:]]
        near += [head + letter + tail for letter in LETTERS]
        near += [head + letter + tail[1:] for letter in LETTERS]
        if any(len(n) > 2 and n in common for n in near):
            return True
    return False
