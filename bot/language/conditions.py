"""Finds what a message says about a thing's state, and whether it is said or denied."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bot.language.found import Context, Findings, Found
from bot.language.words import language

REACH = 4


def find_facts(findings: Findings, context: Context) -> None:
    """Add values of conditions, hazard signs, declined options and live-danger words."""
    found = list(phrases(findings, context))
    found = [f for f in found if not any(o.covers(f) and rivals(o, f) for o in found)]
    negators = language().negators
    marked = [
        f
        if f.target.kind == "live"
        else replace(
            f,
            negated=context.has("negation") and is_negated(f, findings),
            denial=findings.words[f.first].norm in negators,
        )
        for f in found
    ]
    findings.facts = [f for f in marked if f.target.kind != "live"]
    findings.live = [f for f in marked if f.target.kind == "live"]


def rivals(longer: Found, shorter: Found) -> bool:
    """Whether of two overlapping phrases only the longer counts: both tell the same condition."""
    return (longer.target.kind, longer.target.id) == (shorter.target.kind, shorter.target.id)


def phrases(findings: Findings, context: Context) -> Iterator[Found]:
    """Every phrase of the book in the message, small words passed over on both sides."""
    lexicon, skip, joins = context.lexicon, language().skip, language().joins_name
    words = findings.words
    for i, word in enumerate(words):
        if not word.is_word:
            continue
        short = full = ""
        taken = 0
        for j in range(i, len(words)):
            norm = words[j].norm
            if not words[j].is_word:
                if norm in joins:
                    continue
                break
            full += norm
            if norm not in skip:
                short += norm
                taken += 1
            if taken > lexicon.longest_phrase + 1:
                break
            if words[i].norm in skip:
                keys = [" ".join(w.norm for w in words[i : j + 1] if w.is_word)]
            else:
                keys = [full] if norm in skip or full == short else [full, short]
            for key in keys:
                for target in lexicon.phrases.get(key, ()):
                    yield Found(target, i, j + 1)


def is_negated(found: Found, findings: Findings) -> bool:
    """Whether a denial stands shortly before, in the same part of the sentence."""
    lang = language()
    for seen, k in enumerate(range(found.first - 1, -1, -1), 1):
        word = findings.words[k]
        if not word.is_word or word.norm in lang.negation_ends or word.norm == "and":
            return False
        if opens(k, findings):
            return False
        if contrasted(k, findings):
            return True
        if word.norm in lang.negators:
            after = findings.words[k + 1].norm
            return after not in lang.still and not (after == "even" and measured(found, findings))
        if seen >= REACH:
            return False
    return False


def contrasted(k: int, findings: Findings) -> bool:
    """Whether a word ends "rather than" or "instead of": what follows is not so."""
    pair = (findings.words[k - 1].norm if k else "", findings.words[k].norm)
    return pair in (("rather", "than"), ("instead", "of"))


def measured(found: Found, findings: Findings) -> bool:
    """Whether a phrase tells an amount: "not even half a cup" is less than that, not more."""
    return any(w.norm in language().measures for w in findings.words[found.first : found.last])


def opens(k: int, findings: Findings) -> bool:
    """Whether a word is the "no" that only opens a message: "oh no it was a takeaway"."""
    lang, words = language(), findings.words
    if words[k].norm != "no" or k + 1 >= len(words):
        return False
    before = all(w.norm in lang.openers for w in words[:k] if w.is_word)
    return before and words[k + 1].norm in lang.after_a_no
