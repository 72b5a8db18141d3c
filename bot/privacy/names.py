"""Names of people in a message: by what announces them, and by lists of names."""

from __future__ import annotations

import re
from collections.abc import Iterator

from bot.privacy.found import Found
from bot.privacy.namelists import Word, lists, slip, split, things

OWNS = re.compile("['\N{RIGHT SINGLE QUOTATION MARK}]s")
OWNERS = ("my ", "me ", "our ", "her ", "his ", "their ", "your ")
CONTRACTED = re.compile(r"'(?:d|ll|ve|m|re|t|em)$")
GAP = re.compile(r"[\s,:.!;(\N{EN DASH}\N{EM DASH}-]{0,4}")
CLOSE = re.compile(r"\s{0,3}")


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
        if (
            two in ("my name", "my names", "name is", "names is", "name's")
            and three != "brand name is"
        ):
            return "person"
        named = last == "name" and ":" in self.text[self.words[at - 1].end : self.words[at].start]
        if named and two not in ("brand name", "product name"):
            return "name"
        if last in self.known.told["before"] or two in self.known.told["before"]:
            return "person"
        if last in self.known.told["relations"] and two.startswith(OWNERS):
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
        if word.told in known.told["never"] or CONTRACTED.search(word.told):
            return 0
        capital = word.capital and not self.first_of_sentence(at)
        if cue == "name":
            return self.length(at, True) or (1 if capital else 0)
        ends = at + 3 >= len(self.words)
        if cue in ("person", "relation") or (cue == "sign-off" and ends):
            given = word.told in known.given
            listed = given and (capital or ends or word.told not in known.common)
            strange = self.strange(at) or (capital and not self.plain(word))
            if listed or strange or word.told in known.sure or (given and cue == "relation"):
                return self.length(at, True)
        if len(word.told) == 1 and word.capital:
            closes = cue == "sign-off" and self.length(at, True) + at == len(self.words)
            return self.speaks(at) or (self.length(at, True) if closes else 0)
        return self.unannounced(at, capital)

    def unannounced(self, at: int, capital: bool) -> int:
        """The same where nothing before it says that a name comes."""
        word, known = self.words[at], self.known
        named = word.told in known.given
        if (named or self.strange(at)) and self.speaks(at):
            return self.speaks(at)
        if self.owns(at) and ((capital and named) or self.strange(at)):
            return 1
        if not (named or (word.capital and self.strange(at))) or word.told in known.told["words"]:
            return 0
        if at + 1 < len(self.words) and self.near(at + 1, CLOSE):
            following = self.words[at + 1]
            surname = following.told in known.surnames and following.told not in self.things
            if word.capital and following.capital and (surname or self.strange(at + 1)):
                return max(2, self.length(at, True))
        bare = known.sure if word.capital else known.surest
        return self.length(at, False) if word.told in bare and word.told not in self.things else 0

    def strange(self, at: int) -> bool:
        """Whether a word stands in no dictionary and is no slip in a common word: such a word,
        where a name is expected, is one."""
        word = self.words[at]
        return self.odd(word) and word.told.isalpha() and not slip(word.told)

    def speaks(self, at: int) -> int:
        """Words of a name before "here" or "speaking", 0 if it is none."""
        for count in (1, 2):
            if at + count >= len(self.words) or not self.near(at + count, CLOSE):
                return 0
            last = self.words[at + count]
            if last.told in ("here", "speaking"):
                first = self.words[at].told
                doubtful = first in self.known.told["words"] or first not in self.known.given
                return 0 if count == 1 and doubtful else count
            if last.told not in self.known.surnames and not self.strange(at + count):
                return 0
        return 0


def people(text: str) -> Iterator[Found]:
    """Names of people."""
    yield from Reading(text).people()
