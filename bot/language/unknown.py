"""Finds things the rules do not know: what is left of a message when all else is told."""

from __future__ import annotations

from bot.language.found import Context, Findings, Unknown
from bot.language.spelling import is_english
from bot.language.words import language


def find_unknown(findings: Findings, context: Context) -> None:
    """Add stretches of words that are neither the book's nor those questions are made of."""
    words = findings.words
    taken: set[int] = set()
    for f in (*findings.names, *findings.live, *findings.marks):
        taken |= set(range(f.first, f.last))
    for f in findings.facts:
        taken |= set(range(f.first, f.last))
    for _, start, end in findings.days:
        taken |= {i for i, w in enumerate(words) if start <= w.start < end}
    stretches: list[list[int]] = []
    for i, word in enumerate(words):
        if i in taken or not is_thing(word.norm, word.base, context):
            continue
        if word.base.endswith("ing") and (i == 0 or words[i - 1].norm not in language().articles):
            continue
        if stretches and stretches[-1][-1] == i - 1:
            stretches[-1].append(i)
        else:
            stretches.append([i])
    findings.unknown = []
    if findings.asked_words:
        stretches = asked_for(stretches, findings)
    for s in stretches:
        first, last = s[0], s[-1] + 1
        while last < len(words) and last not in taken and tail(words[last].norm, context):
            last += 1
        english = is_english(w.norm for w in words[first:last] if w.is_word and w.norm.isalpha())
        findings.unknown.append(Unknown(first, last, english))


def is_thing(norm: str, base: str, context: Context) -> bool:
    """Whether a word may name a thing: a word outside the frames of questions."""
    if not any(ch.isalpha() for ch in norm) or len(norm) < 3:
        return False
    small = norm in language().skip or norm in language().articles
    return norm not in context.frame and base not in context.frame and not small


def tail(norm: str, context: Context) -> bool:
    """Whether a word right behind an unknown one belongs to its name ("theremin case")."""
    return norm in context.lexicon.names and norm not in context.frame


MENTIONED = 0.05
"""Probability of being asked about below which words are only mentioned."""


def asked_for(stretches: list[list[int]], findings: Findings) -> list[list[int]]:
    """Stretches that the sequence model does not take for mere mentions."""
    told = findings.asked_words
    return [s for s in stretches if max(told.get(k, 0.0) for k in s) >= MENTIONED]
