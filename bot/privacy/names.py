"""Names of people in a message: by what announces them, and by lists of names.

The lists are those of a census of 1990 that the package `names` brings; `names.yml` has what they
lack. How often a word is a word is taken from the frequency list of `symspellpy`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import names as census
import symspellpy
import yaml

from actions.current import SHELF
from bot import paths
from bot.privacy.found import Found

MOST = 900.0
"""Millions of times a word is counted in English per hundredth of people of that name, above which
it is a word: 46 for David, 101 for Mark, 75,000 for Will. Set by looking at the lists."""
SMALL = 250.0
"""The same for a name in small letters that nothing announces."""
COMMON = 2_000_000
"""Count in English from which a word is common."""
SURNAMES = 20_000
"""Surnames that are known, the most common."""

TOKEN = re.compile(r"[^\W\d_]+(?:['\N{RIGHT SINGLE QUOTATION MARK}-][^\W\d_]+)*")
CONTRACTED = re.compile(r"'(?:d|ll|ve|m|re|t|em)$")
OWNS = re.compile("['\N{RIGHT SINGLE QUOTATION MARK}]s")
GAP = re.compile(r"[\s,:.!;(\N{EN DASH}\N{EM DASH}-]{0,4}")
CLOSE = re.compile(r"\s{0,3}")


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
        english=frozenset(count) - given - frozenset(last),
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


class Reading:
    """One message."""

    def __init__(self, text: str) -> None:
        self.text, self.words = text, split(text)
        self.known, self.things = lists(), things()

    def near(self, at: int, pattern: re.Pattern[str] = GAP) -> bool:
        """Whether only a space or a mark stands between a word and the one before."""
        if not 0 < at < len(self.words):
            return False
        between = self.text[self.words[at - 1].end : self.words[at].start]
        if len(self.words[at - 1].told) == 1:
            between = between.removeprefix(".")
        return pattern.fullmatch(between) is not None

    def owns(self, at: int) -> bool:
        """Whether a word has a possessive ending: "Rose's"."""
        return bool(OWNS.match(self.text, self.words[at].end))

    def first_of_sentence(self, at: int) -> bool:
        """Whether a word begins a sentence, where a capital says nothing."""
        before = self.text[: self.words[at].start].rstrip(" \"'(\N{LEFT DOUBLE QUOTATION MARK}")
        return not before or before[-1] in ".!?:;\n-"

    def plain(self, word: Word) -> bool:
        """Whether a word is one of English or of the rule book, rather than a name."""
        return word.told in self.known.common or word.told in self.things

    def length(self, at: int, announced: bool) -> int:
        """Words of the name that begins at a word, 0 if none does."""
        if at >= len(self.words) or not self.possible(at, announced):
            return 0
        count = 1
        while count < 4 and self.near(at + count, CLOSE) and self.goes_on(at + count, announced):
            count += 1
        only_initial = len(self.words[at].told) == 1 and count == 1
        return 0 if only_initial and not announced else count

    def possible(self, at: int, announced: bool) -> bool:
        """Whether a word can be the first of a name."""
        word, known = self.words[at], self.known
        if CONTRACTED.search(word.told) or word.told in known.told["never"]:
            return False
        if len(word.told) == 1:
            return announced and word.capital
        if word.told in known.sure:
            return True
        if not announced:
            return False
        listed = word.told in known.given or word.told in known.surnames
        return listed or (word.capital and not self.plain(word)) or self.odd(word)

    def goes_on(self, at: int, announced: bool) -> bool:
        """Whether a word is a further part of a name."""
        word, known = self.words[at], self.known
        if CONTRACTED.search(word.told) or word.told in known.told["never"]:
            return False
        if len(word.told) == 1:
            return word.capital
        if word.told.startswith(("o'", "d'")) and len(word.told) > 4:
            return True
        if word.told in known.sure_surnames or word.told in known.surest:
            return word.capital or word.told not in self.things
        if word.told in known.surnames and announced and word.told not in self.things:
            return True
        if word.told in known.surnames and announced:
            return word.capital or at + 1 == len(self.words) or not self.near(at + 1, CLOSE)
        if announced and self.odd(word):
            return True
        return word.capital and not self.first_of_sentence(at) and not self.plain(word)

    def odd(self, word: Word) -> bool:
        """Whether a word stands in no dictionary: behind a name, a name written small."""
        known = self.known.english
        return len(word.told) > 2 and word.told not in known and word.told not in self.things

    def cue(self, at: int) -> str:
        """How the words before one announce a name: "name" (surely one), "person" or
        "relation" (one if it can be), "sign-off" (the same at the end), or not at all."""
        told = [w.told for w in self.words[max(0, at - 3) : at]]
        if not told or not self.near(at):
            return ""
        last, two, three = told[-1], " ".join(told[-2:]), " ".join(told[-3:])
        if last in self.known.told["titles"] or three in ("my name is", "my name's", "me name is"):
            return "name"
        if two in ("my name", "name is", "names is", "name's") and three != "brand name is":
            return "person"
        if last in self.known.told["before"] or two in self.known.told["before"]:
            return "person"
        if last in self.known.told["relations"] and two.startswith(("my ", "our ", "her ", "his ")):
            return "relation"
        if last in self.known.told["relations"] or last in self.known.told["greetings"]:
            return "person"
        if last in self.known.told["thanks"] or two in self.known.told["thanks"]:
            return "sign-off"
        return ""

    def people(self) -> Iterator[Found]:
        """The names."""
        at = 0
        while at < len(self.words):
            count = self.at(at)
            if count:
                yield Found(self.words[at].start, self.words[at + count - 1].end, "name")
            at += max(1, count)

    def at(self, at: int) -> int:
        """Words of the name that begins at a word of the message."""
        word, known, cue = self.words[at], self.known, self.cue(at)
        if cue == "name":
            return self.length(at, True)
        if cue in ("person", "relation", "sign-off"):
            ends = at + 3 >= len(self.words)
            free = cue != "sign-off" or ends
            capital = word.capital and not self.first_of_sentence(at)
            listed = word.told in known.given and (capital or word.told not in known.common)
            if free and (listed or word.told in known.sure or (ends and word.told in known.given)):
                return self.length(at, True)
            if free and capital and not self.plain(word):
                return self.length(at, True)
        if len(word.told) == 1 and word.capital and word.told not in known.told["never"]:
            closes = cue == "sign-off" and self.length(at, True) + at == len(self.words)
            return self.speaks(at) or (self.length(at, True) if closes else 0)
        if cue == "relation" and word.told in known.given:
            return self.length(at, True)
        if word.told not in known.given:
            return 0
        if word.capital and self.owns(at) and not self.first_of_sentence(at):
            return 1
        if self.speaks(at):
            return self.speaks(at)
        following = self.words[at + 1] if at + 1 < len(self.words) else None
        if word.told in known.told["words"]:
            return 0
        if following and self.near(at + 1, CLOSE):
            surname = following.told in known.surnames and following.told not in self.things
            if word.capital and following.capital and surname:
                return max(2, self.length(at, True))
        bare = known.sure if word.capital else known.surest
        return self.length(at, False) if word.told in bare and word.told not in self.things else 0

    def speaks(self, at: int) -> int:
        """Words of a name before "here" or "speaking", 0 if it is none."""
        for count in (1, 2):
            if at + count >= len(self.words) or not self.near(at + count, CLOSE):
                return 0
            if self.words[at + count].told in ("here", "speaking"):
                plain = count == 1 and self.words[at].told in self.known.told["words"]
                return 0 if plain else count
            if self.words[at + count].told not in self.known.surnames:
                return 0
        return 0


def people(text: str) -> Iterator[Found]:
    """Names of people."""
    yield from Reading(text).people()
