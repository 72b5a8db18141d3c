"""How a message is put, whatever it is about: whether it asks, doubts, varies, or only names."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from bot.language.found import Findings
from bot.language.words import language


def manners(findings: Findings) -> Iterator[str]:
    """The manners of a message.

    `asking`: it is a question of its own. `doubting` and `varying`: it begins by doubting the last
    answer ("are you sure") or by changing something in it ("what if"). `riddance`: it speaks of
    getting rid of something. `bare`: it is nothing but names and conditions ("a vase, glass").
    `parting`: it tells several of one kind apart ("one is empty, the other half full").
    `hedging`: it is said with some doubt ("I reckon"). `described`: it describes something and
    names nothing else. `plain_yes` and `plain_no`: it is nothing but that.
    """
    lang = language()
    spoken = [w.norm for w in findings.words if w.is_word]
    plain = " ".join(spoken)
    pairs = {f"{one} {two}" for one, two in pairwise(spoken)}
    if asks(findings, spoken) or pairs & lang.asking_pairs:
        yield "asking"
    if plain.startswith(lang.doubting):
        yield "doubting"
    if plain.startswith(lang.varying):
        yield "varying"
    if pairs & lang.riddance or set(spoken) & lang.riddance_words or accepted(spoken):
        yield "riddance"
    if set(spoken) & lang.hedging or pairs & lang.hedging:
        yield "hedging"
    bases = {w.base for w in findings.words if w.is_word}
    if bases and (bases <= lang.plain_yes or bases <= lang.plain_no):
        yield "plain_yes" if bases <= lang.plain_yes else "plain_no"
    if lang.parting.search(plain):
        yield "parting"
    if findings.described:
        yield "described"
    if is_bare(findings):
        yield "bare"


def accepted(spoken: list[str]) -> bool:
    """Whether it asks if something is taken, or where it goes: "is cling film ok", "where does a
    quoit rack go"."""
    if len(spoken) < 3:
        return False
    if "where" in spoken[:4] and spoken[-1] in ("go", "goes", "belong"):
        return True
    return spoken[0] in ("is", "are") and spoken[-1] in language().taken and len(spoken) <= 8


def asks(findings: Findings, spoken: list[str]) -> bool:
    """Whether there is a question mark, or a first word that asks ("can", but not "cannot")."""
    if any(w.norm == "?" for w in findings.words):
        return True
    denied = len(spoken) > 1 and spoken[1] == "not"
    return bool(spoken) and spoken[0] in language().asking and not denied


def is_bare(findings: Findings) -> bool:
    """Whether every word is told: part of a name, known or not, or of a condition."""
    if not findings.of("item") and not findings.unknown and not findings.marks:
        return False
    told: set[int] = set()
    for f in (*findings.names, *findings.facts, *findings.marks, *findings.unknown):
        told |= set(range(f.first, f.last))
    lang = language()
    return all(
        k in told
        or not w.is_word
        or w.norm in lang.articles
        or w.norm in lang.parts
        or w.norm in lang.family
        for k, w in enumerate(findings.words)
    )
