"""Typing mistakes put right, against the rule book's own words first."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files

import jellyfish
from symspellpy import SymSpell, Verbosity

VOWELS = frozenset("aeiou")
SAME_SOUND = 0.65
"""What a slip counts for, between 0 and 1, if both words sound the same."""

DROPPED_VOWEL = 0.35
DOUBLED = 0.35
SWAPPED = 0.7
WRONG_VOWEL = 0.7
"""What common slips count for, where any other letter dropped, added or changed counts 1."""

HEARD = (("ph", "f"), ("ck", "k"), ("wr", "r"), ("kn", "n"), ("wh", "w"))
"""Letters that are written in several ways, and how they are compared."""

FIRST = 0.8
"""What a changed first letter counts for on top: people hardly ever mistype it."""


SAME_BONES = 0.3
"""How much further off a word may be that differs only in vowels and doubled letters."""


@cache
def english() -> dict[str, int]:
    """Common English words with their frequency (the list that symspellpy ships)."""
    text = files("symspellpy").joinpath("frequency_dictionary_en_82_765.txt").read_text("utf-8-sig")
    pairs = (line.split() for line in text.splitlines())
    return {p[0]: int(p[1]) for p in pairs if len(p) == 2}


def skeleton(word: str) -> str:
    """A word without its vowels, but for the first letter, and without doubled letters."""
    kept = word[:1]
    for ch in word[1:]:
        if ch not in VOWELS and ch != kept[-1]:
            kept += ch
    return kept


def cost(typed: str, meant: str) -> float:
    """How unlikely it is that a word was mistyped as another."""
    plain = distance(typed, meant)
    heard = as_heard(typed), as_heard(meant)
    total = min(plain, distance(*heard)) if heard != (typed, meant) else plain
    if jellyfish.metaphone(typed) == jellyfish.metaphone(meant):
        total *= SAME_SOUND
    elif typed[0] != meant[0]:
        total += FIRST
    return total


def distance(typed: str, meant: str) -> float:
    """The weighted edit distance between two words as they are written.

    Vowels are cheap to leave out where few are typed: "pkt", not "dubet".
    """
    rows, columns = len(typed), len(meant)
    vowel = DROPPED_VOWEL if 4 * sum(ch in VOWELS for ch in typed) < rows else 2 * DROPPED_VOWEL
    table = [[0.0] * (columns + 1) for _ in range(rows + 1)]
    for j in range(1, columns + 1):
        table[0][j] = table[0][j - 1] + missing(meant, j - 1, vowel)
    for i in range(1, rows + 1):
        table[i][0] = float(i)
        for j in range(1, columns + 1):
            one, two = typed[i - 1], meant[j - 1]
            extra = DOUBLED if i > 1 and typed[i - 2] == one else 1.0
            wrong = WRONG_VOWEL if one in VOWELS and two in VOWELS else 1.0
            best = min(
                table[i - 1][j - 1] + (0.0 if one == two else wrong),
                table[i - 1][j] + extra,
                table[i][j - 1] + missing(meant, j - 1, vowel),
            )
            if i > 1 and j > 1 and one == meant[j - 2] and typed[i - 2] == two and one != two:
                best = min(best, table[i - 2][j - 2] + SWAPPED)
            table[i][j] = best
    return table[rows][columns]


def as_heard(word: str) -> str:
    """A word with letters that are written in several ways written in one."""
    for written, heard in HEARD:
        word = word.replace(written, heard)
    return word


def missing(meant: str, j: int, vowel: float) -> float:
    """What it counts for that a letter of the word meant was left out; `vowel` for a vowel."""
    if j and meant[j] in VOWELS:
        return vowel
    return DOUBLED if j and meant[j - 1] == meant[j] else 1.0


def reach(word: str) -> float:
    """The highest cost at which a mistyped word is still taken for another."""
    return {2: 0.7, 3: 0.75, 4: 1.0, 5: 1.25}.get(len(word), 2.0 if len(word) < 9 else 2.4)


class Speller:
    """Corrects a word that is no English word to the nearest word the book knows.

    `known` maps the book's and the questions' words to a weight: of two equally near words the
    heavier wins. `alarms` are words of danger, for which a short word may be further off.
    """

    def __init__(self, known: dict[str, int], alarms: Mapping[str, int] | None = None) -> None:
        self.known = known
        self.alarms = SymSpell(max_dictionary_edit_distance=2, prefix_length=7)
        self.alarm_words = sorted(w for w in alarms or () if len(w) >= 4 and w.isalpha())
        for word, weight in sorted((alarms or {}).items()):
            if len(word) >= 5 and word.isalpha():
                self.alarms.create_dictionary_entry(word, weight)
        self.symspell = SymSpell(max_dictionary_edit_distance=2, prefix_length=7)
        self.sounds: dict[str, list[str]] = defaultdict(list)
        self.skeletons: dict[str, list[str]] = defaultdict(list)
        for word, weight in known.items():
            if len(word) >= 3 and word.isalpha():
                self.symspell.create_dictionary_entry(word, weight)
                self.sounds[jellyfish.metaphone(word)].append(word)
                self.skeletons[skeleton(word)].append(word)
        self.corrected: dict[str, list[str]] = {}

    def correct(self, word: str) -> str:
        """The word itself if known or English, else the likeliest known word, if near enough."""
        if len(word) < 3 or word in self.known or not word.isalpha() or not word.isascii():
            return word
        whole = word + "g"
        if word.endswith("in") and english().get(whole, 0) > 20 * english().get(word, 0):
            return whole
        if word in english():
            return word
        return next(iter(self.near(word)), word)

    def near(self, word: str) -> list[str]:
        """Known words that a mistyped one may stand for, the likeliest first."""
        if word not in self.corrected:
            if len(self.corrected) > 50_000:
                self.corrected.clear()
            found = self.look_up(word)
            if not found and word.endswith("s"):
                found = self.look_up(word[:-1])
            self.corrected[word] = found
        return self.corrected[word]

    def look_up(self, word: str) -> list[str]:
        """As `near`, without the memory of earlier words."""
        swaps = [a for a in self.alarm_words if sorted(a) == sorted(word)]
        if swaps:
            return swaps
        sound = jellyfish.metaphone(word)
        if len(word) > 4:
            for f in self.alarms.lookup(word, Verbosity.ALL, max_edit_distance=2):
                if jellyfish.metaphone(f.term) == sound:
                    return [f.term]
        far = 1 if len(word) < 6 else 2
        found = {f.term for f in self.symspell.lookup(word, Verbosity.ALL, max_edit_distance=far)}
        found.update(self.sounds.get(sound, ()))
        found.update(self.skeletons.get(skeleton(word), ()))
        costs = {f: cost(word, f) for f in sorted(found)}
        bones = skeleton(word)
        if len(word) == 3 and VOWELS & set(word):
            found = {f for f in found if sorted(f) == sorted(word) or as_heard(f) == as_heard(word)}
            costs = {f: cost(word, f) for f in sorted(found)}
        good = [
            f for f, c in costs.items() if c <= reach(word) + SAME_BONES * (skeleton(f) == bones)
        ]
        return sorted(good, key=lambda f: (costs[f] - weight(self.known[f]), f))


def weight(times: int) -> float:
    """What a word's frequency takes off its cost, at most about a third of a letter."""
    return min(0.35, 0.05 * times.bit_length())


def is_english(words: Iterable[str]) -> bool:
    """Whether every word is in the English list."""
    return all(w in english() for w in words)
