"""Names beside another that are not asked about: what came in it, its parts, a list's heading."""

from __future__ import annotations

from itertools import pairwise

from bot.language.came import CAME
from bot.language.found import Context, Findings, Found
from bot.language.groups import segments
from bot.language.words import language

IT = frozenset({"it", "they", "that", "these", "those", "them"})


def came_in_other(name: Found, names: list[Found], findings: Findings) -> bool:
    """Whether a name is what came in another: "we bought a fan, where does the box it came in go",
    but not "the fan and the box it came in"."""
    words = findings.words
    for other in names:
        inside = [w.norm for w in words[other.first : other.last]]
        if other is name or name.last > other.first or inside[-1:] != ["in"]:
            continue
        if not any(a in IT and b in CAME for a, b in pairwise(inside)):
            continue
        between = [w.norm for w in words[name.last : other.first]]
        return not all(b in ("and", "plus", "+", ",", *language().articles) for b in between)
    return False


BEEN = frozenset({"has", "have", "is", "are", "was", "were", "got", "all", "just", "been"})
MOVED = frozenset(
    {"come", "came", "fallen", "fell", "gone", "dropped", "torn", "ripped", "off", "hanging"}
    | {"loose", "missing", "broke", "snapped", "bent", "wonky"}
)
PART_OPENS = frozenset({"the", "one", "of", "both", "its", "it", "is"})


def part_in_a_state(name: Found, names: list[Found], findings: Findings, context: Context) -> bool:
    """Whether a name is a part of the thing before it, of which only the state is told: "a pram,
    the wheels have come off", "a kettle, the lid broken"."""
    words, part = findings.words, segments(findings)
    before = [n for n in names if n.last <= name.first]
    book = context.lexicon.book
    if not before or book.items[name.target.id].hazard:
        return False
    here = [k for k, p in enumerate(part) if p == part[name.first] and words[k].is_word]
    opens = [words[k].norm for k in here if k < name.first]
    if not all(w in PART_OPENS for w in opens):
        return False
    joiner = words[here[0] - 1].norm if here[0] else ""
    if joiner in ("and", "or", "plus", "+", "&") and part[before[-1].first] == part[here[0]] - 1:
        return False
    said = {k for f in findings.facts for k in range(f.first, f.last)}
    rest = [k for k in here if k >= name.last]
    told = [k for k in rest if k in said or words[k].norm in MOVED]
    if not told or not all(k in told or words[k].norm in BEEN for k in rest):
        return False
    mine = book.conditions_that_matter(name.target.id)
    facts = {f.target.id for f in findings.facts if f.first in rest}
    if not opens and not facts & book.conditions_that_matter(before[-1].target.id):
        return False
    return not facts & mine


def heading(name: Found, names: list[Found], findings: Findings) -> bool:
    """Whether a name stands over a list: "ready meal: sleeve, tray and film"."""
    words = findings.words
    over = name.last < len(words) and words[name.last].norm == ":"
    return over and sum(n.first > name.last for n in names) > 1


LIST = 3
"""Parts of a sentence that begin with a thing from which it is a list."""


def in_list(names: list[Found], findings: Findings, vague: set[str]) -> list[Found]:
    """Names in a list of things: each begins its part of the sentence, apart from articles,
    figures and what is said of it, and at least `LIST` parts do so, most of those there are."""
    words, part = findings.words, segments(findings)
    said = {k for f in findings.facts for k in range(f.first, f.last)}
    found: dict[int, Found] = {}
    for name in names:
        k = name.first - 1
        while k >= 0 and part[k] == part[name.first] and words[k].is_word:
            if not (words[k].norm in language().articles or k in said or words[k].norm.isdigit()):
                break
            k -= 1
        starts = k < 0 or part[k] != part[name.first] or not words[k].is_word
        if starts and name.target.id not in vague:
            found.setdefault(part[name.first], name)
    parts = {p for p, w in zip(part, words, strict=True) if w.is_word}
    listed = len(found) >= LIST and 3 * len(found) >= 2 * len(parts) - 2
    return list(found.values()) if listed else []
