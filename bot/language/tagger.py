"""Tells the things a message asks about from those it only mentions, by a trained sequence model.

Each name of the rule book is one unit to it, whatever its words, so that a new name needs no
training. It is a conditional random field (crfsuite) over the units' kinds and the words between.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import pycrfsuite

from bot.language.found import Context, Findings, Found
from bot.language.report import EVERYDAY, is_common
from bot.language.spelling import english
from bot.language.words import language

THING, REST, ASIDE, OTHER = "B", "I", "A", "O"
"""Labels: a thing asked about begins or goes on, a thing only mentioned, anything else."""

RARE = 300_000
"""Count in the English list below which a word is rare."""


@dataclass(frozen=True, slots=True)
class Unit:
    """Words `first` up to but not `last`: a name, or one word or sign."""

    first: int
    last: int
    kind: str
    word: str
    name: Found | None = None


def units(findings: Findings, context: Context) -> list[Unit]:
    """A message cut into names and single words."""
    words, lang = findings.words, language()
    names = {n.first: n for n in findings.names if n.first < n.last}
    told = {k for f in findings.facts for k in range(f.first, f.last)}
    live = {k for f in findings.live for k in range(f.first, f.last)}
    marked = {k for f in findings.marks for k in range(f.first, f.last)}
    found: list[Unit] = []
    k = 0
    while k < len(words):
        name = names.get(k)
        if name:
            tail = words[name.last - 1].norm
            word = tail if tail in lang.holds or tail in lang.material_words else ""
            found.append(Unit(k, name.last, name.target.kind, word, name))
            k = name.last
            continue
        word = words[k].norm
        if not words[k].is_word:
            kind = "sign"
        elif k in marked:
            kind, word = "mark", ""
        elif k in live:
            kind = "live"
        elif k in told:
            kind = "state"
        elif word in context.frame or words[k].base in context.frame or word in lang.skip:
            kind = "frame"
        else:
            kind = "word" if word in english() else "odd"
        found.append(Unit(k, k + 1, kind, word if kind in KEPT else "", None))
        k += 1
    return found


KEPT = frozenset({"sign", "frame", "state", "live"})
"""Kinds of units whose words are shown to the model."""


def features(findings: Findings, context: Context) -> tuple[list[Unit], list[list[str]]]:
    """The units of a message and what the model sees of each."""
    found = units(findings, context)
    own = [describe(u, findings, context) for u in found]
    things = [k for k, u in enumerate(found) if u.kind == "item"]
    out = []
    for k, unit in enumerate(found):
        seen = [*own[k], f"len={min(len(found) // 4, 6)}"]
        for step in (-3, -2, -1, 1, 2, 3):
            at = k + step
            if 0 <= at < len(found):
                other = found[at]
                seen.append(f"{step}:kind={other.kind}")
                if other.word:
                    seen.append(f"{step}:word={other.word}")
            else:
                seen.append(f"{step}:edge")
        for one, two in ((-2, -1), (-1, 1), (1, 2)):
            seen.append(f"{one}{two}:{look(found, k + one)}|{look(found, k + two)}")
        before = sum(t < k for t in things)
        seen.append(f"items before={min(before, 3)}")
        seen.append(f"items after={min(len(things) - before - (k in things), 3)}")
        seen.append(f"kind={unit.kind}|{look(found, k - 1)}")
        seen.append(f"kind={unit.kind}|{look(found, k + 1)}")
        seen.append(f"from start={min(k, 4)}")
        seen.append(f"to end={min(len(found) - 1 - k, 3)}")
        since = since_sign(found, k)
        seen.append(f"since={since}")
        until = until_sign(found, k)
        seen.append(f"alone={since == 0 and until == 0}")
        out.append(seen)
    return found, out


def look(found: Sequence[Unit], k: int) -> str:
    """A unit's word, or its kind, or the edge of the message."""
    if not 0 <= k < len(found):
        return "edge"
    return found[k].word or found[k].kind


def since_sign(found: Sequence[Unit], k: int) -> int:
    """Units since the part of the sentence began."""
    n = 0
    while k - n - 1 >= 0 and not ends_part(found[k - n - 1]) and n < 5:
        n += 1
    return n


def until_sign(found: Sequence[Unit], k: int) -> int:
    """Units until the part of the sentence ends."""
    n = 0
    while k + n + 1 < len(found) and not ends_part(found[k + n + 1]) and n < 5:
        n += 1
    return n


def ends_part(unit: Unit) -> bool:
    """Whether a unit parts a sentence."""
    return unit.word in language().parts


def describe(unit: Unit, findings: Findings, context: Context) -> list[str]:
    """What the model sees of a unit by itself."""
    words, book = findings.words, context.lexicon.book
    seen = ["bias", f"kind={unit.kind}"]
    if unit.word:
        seen.append(f"word={unit.word}")
    if unit.name and unit.kind == "item":
        item = book.items[unit.name.target.id]
        size = sum(w.is_word for w in words[unit.first : unit.last])
        seen.append(f"size={min(size, 3)}")
        if words[unit.last - 1].plural:
            seen.append("plural")
        if item.hazard:
            seen.append("hazard")
        if item.id in context.lexicon.generic.values():
            seen.append("generic")
        if is_common(unit.name, findings):
            seen.append("everyday")
        facts = {
            f.target.id
            for f in findings.facts
            if f.target.kind == "value" and f.first < unit.last and unit.first < f.last
        }
        others = [
            n
            for n in findings.names
            if n.target.kind == "item" and n.first != unit.first and n.target.id in book.items
        ]
        for n in others:
            if facts & book.conditions_that_matter(n.target.id):
                seen.append("states " + ("before" if n.first < unit.first else "behind"))
    elif unit.kind in ("word", "odd"):
        word = words[unit.first]
        often = english().get(word.norm, 0)
        level = "common" if often >= EVERYDAY else "rare" if often < RARE else "middling"
        seen += [f"often={level}", f"end={word.base[-3:]}", f"end={word.base[-2:]}"]
        if word.plural:
            seen.append("plural")
        if word.norm in language().articles:
            seen.append("article")
    return seen


class Tagger:
    """A trained model, from the bytes of its file."""

    def __init__(self, data: bytes) -> None:
        self.data = data  # The model reads these very bytes, so they must live as long.
        self.model = pycrfsuite.Tagger()
        self.model.open_inmemory(data)

    def tag(self, findings: Findings, context: Context) -> list[tuple[Unit, str, float]]:
        """Each unit with its likeliest label and the probability that it is asked about."""
        found, seen = features(findings, context)
        if not found:
            return []
        labels = self.model.tag(seen)
        known = self.model.labels()
        asked = [
            sum(self.model.marginal(label, k) for label in (THING, REST) if label in known)
            for k in range(len(found))
        ]
        return list(zip(found, labels, asked, strict=True))


def train(
    examples: Iterable[tuple[list[list[str]], list[str]]],
    path: Path,
    c1: float = 0.1,
    c2: float = 0.05,
) -> None:
    """Train a model on units' features and labels, and write it."""
    trainer = pycrfsuite.Trainer(verbose=False)
    for seen, labels in examples:
        if seen:
            trainer.append(seen, labels)
    trainer.set_params({"c1": c1, "c2": c2, "max_iterations": 150})
    trainer.train(str(path))
