"""Typing mistakes put right, against the rule book's own words first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files

import jellyfish
from symspellpy import SymSpell, Verbosity


@cache
def english() -> dict[str, int]:
    """Common English words with their frequency (the list that symspellpy ships)."""
    text = files("symspellpy").joinpath("frequency_dictionary_en_82_765.txt").read_text("utf-8-sig")
    pairs = (line.split() for line in text.splitlines())
    return {p[0]: int(p[1]) for p in pairs if len(p) == 2}


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
        for word, weight in known.items():
            if len(word) >= 3 and word.isalpha():
                self.symspell.create_dictionary_entry(word, weight)
        self.corrected: dict[str, str] = {}

    def correct(self, word: str) -> str:
        """The word itself if it is known or English, else the nearest known word, if near enough.

        A word of three letters may have two swapped, one of four or five may differ in one
        letter, a longer one in two.
        """
        if len(word) < 3 or word in self.known or not word.isalpha():
            return word
        whole = word + "g"
        if word.endswith("in") and english().get(whole, 0) > 20 * english().get(word, 0):
            return whole
        if word in english():
            return word
        if word not in self.corrected:
            self.corrected[word] = self.look_up(word)
            if len(self.corrected) > 50_000:
                self.corrected.clear()
                return self.look_up(word)
        return self.corrected[word]

    def look_up(self, word: str) -> str:
        """The nearest known word, without the memory of earlier ones."""
        if len(word) == 3:
            swapped = [word[1] + word[0] + word[2], word[0] + word[2] + word[1]]
            return next((w for w in swapped if w in self.known), word)
        reach = 1 if len(word) < 6 else 2
        found = self.symspell.lookup(word, Verbosity.CLOSEST, max_edit_distance=reach)
        sound = jellyfish.metaphone(word)
        alarms = (
            self.alarms.lookup(word, Verbosity.ALL, max_edit_distance=2) if len(word) > 4 else []
        )
        swaps = [a for a in self.alarm_words if sorted(a) == sorted(word)]
        if swaps:
            return swaps[0]
        for f in alarms:
            if jellyfish.metaphone(f.term) == sound:
                return f.term
        found.sort(
            key=lambda f: (
                f.distance,
                *likely(word, f.term),
                jellyfish.metaphone(f.term) != sound,
                -f.count,
                f.term,
            )
        )
        good = [f for f in found if f.term[0] == word[0] or f.distance == 1]
        return good[0].term if good else word

    def near(self, word: str) -> list[str]:
        """All known words as near to a mistyped one as the nearest is."""
        reach = 1 if len(word) < 6 else 2
        found = self.symspell.lookup(word, Verbosity.CLOSEST, max_edit_distance=reach)
        return [f.term for f in sorted(found, key=lambda f: (-f.count, f.term))]


def likely(typed: str, meant: str) -> tuple[bool, bool]:
    """How unlikely a slip is: letters are dropped more often than changed, and the first hardly
    ever."""
    rest = iter(meant)
    return typed[0] != meant[0], not all(ch in rest for ch in typed)


def is_english(words: Iterable[str]) -> bool:
    """Whether every word is in the English list."""
    return all(w in english() for w in words)
