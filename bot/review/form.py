"""What a phrase comes to when it is compared: the thing's noun and the words that tell it apart."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import permutations
from pathlib import Path

import yaml

from bot.language.spelling import cost, english
from bot.language.words import Word, fold, language, tokenizer, words_of

WORDS = Path(__file__).parent / "fillers.yml"
RARE = 600_000
"""Frequency in the English list below which a noun names one kind of thing by itself."""
WORKED_ON = ("er", "or")
"""Ends of nouns before which a material is what the thing is for: "paper shredder"."""
SHARED = 0.6
"""Part of all their words that two descriptions must share."""
CLOSE = 0.5
"""Cost of a slip up to which words written as one are the same as the words apart."""
NOTE = 2
"""Words behind a comma up to which they describe what stands before it."""
FEW = 4
"""Words up to which all orders of a phrase are compared."""


@dataclass(frozen=True, slots=True)
class Form:
    """A phrase as it is compared. `head` is the noun, the last of `words`; a description of
    something that nobody named has none."""

    words: tuple[str, ...]
    head: str | None

    @property
    def digest(self) -> str:
        """A short mark of the form, the same for the same words."""
        text = " ".join([*sorted(self.words[:-1]), *self.words[-1:]])
        text = text if self.head else f"described: {text}"
        return hashlib.sha256(text.encode()).hexdigest()[:10]

    @property
    def text(self) -> str:
        """The words for a person to read."""
        return " ".join(self.words)

    def __bool__(self) -> bool:
        return bool(self.words)


@cache
def lists() -> dict[str, frozenset[str]]:
    """The word lists of `fillers.yml`, singular."""
    data = yaml.safe_load(WORDS.read_text(encoding="utf-8"))
    single = language().singular
    return {k: frozenset(w for v in vs for w in (str(v), single(str(v)))) for k, vs in data.items()}


def form_of(text: str, materials: bool = False) -> Form:
    """The form of a phrase: "my gran's old bag of gravel" comes to "gravel".

    What a thing is made of tells no two things apart, as a rule; with `materials` it is kept. A
    phrase of nothing but small words keeps them all; one without a letter has no words.
    """
    plain = fold(text)
    words = words_of(tokenizer()(plain))
    kept = [w for w in behind_comma(cut(words)) if w.is_word and not owner(w, plain)]
    vague = next((k for k, w in enumerate(kept) if w.norm in language().vague_words), None)
    if vague is not None:
        told = [stem(w.norm) for w in kept if content(w) and w.norm not in language().vague_words]
        if told:
            return Form(tuple(told), None)
    fit = telling(turned(kept), materials)
    if fit:
        return Form(tuple(fit), fit[-1])
    rest = [w.norm for w in words if w.is_word]
    return Form(tuple(rest), rest[-1] if rest else None)


def telling(words: list[Word], materials: bool) -> list[str]:
    """The words that tell a thing apart, its noun last."""
    told = [w.norm for k, w in enumerate(words) if content(w) or (k and is_noun(k, words))]
    told = [w for k, w in enumerate(told) if k == len(told) - 1 or not participle(w)]
    without = [w for w in told if w not in lists()["materials"]]
    if materials or not without:
        return told
    head = without[-1]
    needed = head.endswith(WORKED_ON) or (head in lists()["general"] and len(without) == 1)
    return told if needed or told[-1] != head else without


def is_noun(k: int, words: list[Word]) -> bool:
    """Whether a word that is mostly none is a noun, as the last of a phrase."""
    return k == len(words) - 1 and words[k].norm in lists()["nouns"] and content(words[k - 1])


def cut(words: list[Word]) -> list[Word]:
    """The words up to where something else than the thing begins; asking words are no thing."""
    start = next((k for k, w in enumerate(words) if content(w)), 0)
    for k in range(start + 1, len(words)):
        ends = words[k].norm in lists()["ends"] or words[k].norm in ".;!?("
        vague = any(w.norm in language().vague_words for w in words[:k])
        if ends and not vague and not holds(words, k):
            return words[:k]
    return words


def behind_comma(words: list[Word]) -> list[Word]:
    """Words as they are spoken where a note has the noun first: "barbecue, disposable"."""
    signs = [k for k, w in enumerate(words) if w.norm == ","]
    if len(signs) != 1 or not 0 < len(words) - signs[0] - 1 <= NOTE:
        return words
    return [*words[signs[0] + 1 :], *words[: signs[0]]]


def holds(words: list[Word], k: int) -> bool:
    """Whether what a thing held comes next: "a bottle that had paint in it" is a paint bottle."""
    return words[k].norm in lists()["of"] and words[k - 1].norm in lists()["holders"]


def owner(word: Word, text: str) -> bool:
    """Whether a word tells whose a thing is: "gran's"."""
    return text[word.end : word.end + 2] in ("'s", "s'") or (
        text[word.end - 1 : word.end] == "s" and text[word.end : word.end + 1] == "'"
    )


def content(word: Word) -> bool:
    """Whether a word tells which thing is meant."""
    lang, norm = language(), word.norm
    told = lists()
    if not any(c.isalpha() for c in norm) and len(norm) < 2:
        return False
    if {norm, word.base} & (told["fillers"] | told["asking"] | told["joins"] | told["ends"]):
        return False
    return not (
        norm in lang.skip
        or norm in lang.articles
        or norm in lang.small
        or norm in lang.pronouns
        or norm in lang.family
    )


def turned(words: list[Word]) -> list[Word]:
    """Words in the order of a compound: "a lid for a butter churn" as "butter churn lid".

    What only holds or measures the thing is left out, and so is where it was found.
    """
    joins, holders, places = (lists()[k] for k in ("joins", "holders", "places"))
    for k, word in enumerate(words):
        if not k or (word.norm not in joins and not holds(words, k)):
            continue
        before, after = words[:k], turned(words[k + 1 :])
        if not any(map(content, before)) and not any(w.norm in holders for w in before):
            continue
        if word.norm == "of" and before[-1].norm in holders:
            return after or before
        if not after or any(w.norm in places for w in after):
            return before
        return [*after, *before]
    return words


def participle(norm: str) -> bool:
    """Whether a word before a noun is likely the state it is in: "cracked", "rusted"."""
    if not norm.endswith("ed") or len(norm) < 6:
        return False
    return any(s in english() and len(s) > 3 for s in (norm[:-2], norm[:-1]))


def stem(norm: str) -> str:
    """A verb of a description in one form: "whisking", "whisk"."""
    for end in ("ing", "ed"):
        base = norm[: -len(end)]
        if norm.endswith(end) and len(base) > 2:
            if base in english() and base[-1] != base[-2]:
                return base
            return base + "e" if base + "e" in english() else base[:-1]
    return norm


@lru_cache(100_000)
def slip(one: str, two: str) -> bool:
    """Whether two words are one, mistyped or spelt another way.

    Two English words are two words, unless one is hardly used and sounds like the other.
    """
    if one == two or stem(one) == stem(two):
        return True
    if min(len(one), len(two)) < 4:
        return False
    if one in english() and two in english():
        return one.replace("s", "z") == two.replace("s", "z") or one.replace("i", "y") == two
    return min(cost(one, two), cost(two, one)) <= far(min(len(one), len(two)))


def far(letters: int) -> float:
    """The cost up to which a word of so many letters may be a slip of another.

    Lower than in reading a message, where only the rule book's own words come into question.
    """
    return (
        0.5
        if letters < 5
        else 0.75
        if letters < 6
        else 1.0
        if letters < 7
        else 1.2
        if letters < 10
        else 2.0
    )


def matched(one: tuple[str, ...], two: tuple[str, ...]) -> list[tuple[str, str]]:
    """Words of two phrases that are the same, each used once."""
    left = list(two)
    found = []
    for word in one:
        other = next((w for w in left if w == word), None) or next(
            (w for w in left if slip(word, w)), None
        )
        if other is not None:
            left.remove(other)
            found.append((word, other))
    return found


def same(one: Form, two: Form) -> bool:
    """Whether two phrases ask about the same thing, so that one name would serve both."""
    if not one or not two:
        return False
    shared = len(matched(one.words, two.words))
    every = len(one.words) + len(two.words) - shared
    if one.head is None or two.head is None:
        return one.head == two.head and (
            shared == every or (shared > 1 and shared / every >= SHARED)
        )
    if run_together(one, two):
        return True
    if shared == every:
        return slip(one.head, two.head) and not other_noun(one.head, two.head)
    short, long = sorted((one, two), key=lambda f: len(f.words))
    return shared == len(short.words) and short.head == long.head and rare(str(short.head))


def other_noun(one: str, two: str) -> bool:
    """Whether two nouns are two things though they come from one verb: "bead", "beading"."""
    return one != two and stem(one) == stem(two) and one in english() and two in english()


def rare(head: str) -> bool:
    """Whether a noun names one kind of thing by itself ("yurt", and not "cover")."""
    return head not in lists()["general"] and english().get(head, 0) < RARE


def run_together(one: Form, two: Form) -> bool:
    """Whether two phrases are the same once written as one word, in any order: "fishtank"."""
    if len(one.words) == len(two.words):
        return False
    if joined_orders(one) & joined_orders(two):
        return True
    whole, other = "".join(one.words), "".join(two.words)
    return slip(whole, other) and cost(whole, other) <= CLOSE


def joined_orders(form: Form) -> frozenset[str]:
    """The words of a phrase as one word, in every order unless they are many."""
    if len(form.words) > FEW:
        return frozenset({"".join(form.words)})
    return frozenset("".join(p) for p in permutations(form.words))
