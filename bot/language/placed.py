"""Names behind a word of place, origin or purpose: "the box from a new fridge"."""

from __future__ import annotations

from bot.language.found import Findings, Found
from bot.language.words import language


def placed(name: Found, findings: Findings) -> bool:
    """Whether a name stands behind a word of place, origin or purpose."""
    lang, words = language(), findings.words
    said = {k for f in findings.facts for k in range(f.first, f.last)}
    taken = {k for n in findings.names for k in range(n.first, n.last)}
    k = name.first - 1
    strange = 0
    while k >= 0 and words[k].is_word and words[k].norm not in lang.placed and k not in taken:
        if words[k].norm in ("and", "or"):
            return False
        if words[k].norm not in lang.articles and k not in said:
            strange += 1
        if strange > 2:
            return False
        k -= 1
    if k < 0 or words[k].norm not in lang.placed or state_of(k, name, findings):
        return False
    if strange and words[k + 1].norm not in lang.articles and not words[k + 1].base.endswith("ing"):
        return False
    before = words[k - 1].norm if k else ""
    return not (before in lang.asking_before and words[k].norm in ASKS_WITH)


PARTICLES = frozenset({"up", "out", "off", "down"})
PARTICIPLES = frozenset({"worn", "burnt", "blown", "cut", "run", "torn", "broken", "grown", "done"})


def state_of(k: int, name: Found, findings: Findings) -> bool:
    """Whether a word such as "up" ends a state of the thing right behind it: "dried-up pen",
    "worn out shoes"."""
    words = findings.words
    if k != name.first - 1 or not k or words[k].norm not in PARTICLES:
        return False
    before = words[k - 1].norm
    return before == "-" or before in PARTICIPLES or (len(before) > 4 and before.endswith("ed"))


ASKS_WITH = frozenset({"with", "for", "on", "of", "about", "to"})
"""Words of place that also belong to a question: "what do I do with old paint"."""


def residue(name: Found, findings: Findings) -> bool:
    """Whether a name is what is left in or on another thing: "still beans in it"."""
    rest = [w.norm for w in findings.words[name.last :] if w.is_word]
    while rest and rest[0] in ("left", "stuck", "all", "still"):
        rest = rest[1:]
    if not rest or rest[0] not in ("in", "on", "over", "inside"):
        return False
    return rest[1:2] in ([], ["it"], ["them"])


def backgrounds(names: list[Found], findings: Findings) -> list[Found]:
    """Names behind a word of place, and those joined to one by "and"."""
    words = findings.words
    out: list[Found] = []
    for i, name in enumerate(names):
        if placed(name, findings) or residue(name, findings):
            out.append(name)
            continue
        if i and names[i - 1] in out:
            between = [w.norm for w in words[names[i - 1].last : name.first]]
            if between and all(b in ("and", "or", *language().articles) for b in between):
                out.append(name)
    return [n for n in names if n.target in {o.target for o in out}]
