"""Which item of a message a condition belongs to."""

from __future__ import annotations

from bot.language.found import Context, Findings, Found
from bot.language.words import language
from rules.model import Book


def segments(findings: Findings) -> list[int]:
    """The number of the part of the sentence each word is in."""
    parts = language().parts
    number, out = 0, []
    for word in findings.words:
        if word.norm in parts or word.base in parts:
            number += 1
        out.append(number)
    return out


def owners(
    fact: Found, things: list[Found], findings: Findings, context: Context
) -> list[int] | None:
    """Numbers of the things a condition belongs to.

    Those named in the same part of the sentence, the nearest behind it first; else the nearest
    named before it, or all of them ("both takeaway"); else the next one. Things that do not use
    the condition are passed over. `None` means that the same words say another condition of the
    thing just named, and nothing of any other.
    """
    book = context.lexicon.book
    fitting = [
        k
        for k, t in enumerate(things)
        if t.target.kind == "item" and fact.target.id in book.conditions_that_matter(t.target.id)
    ]
    nearest = [k for k, t in enumerate(things) if t.last <= fact.first][-1:]
    if nearest and nearest[0] not in fitting and said_of(things[nearest[0]], fact, findings, book):
        return None
    part = segments(findings)
    here = [k for k in fitting if part[things[k].first] == part[fact.first]]
    if here:
        behind = [k for k in here if things[k].first >= fact.last]
        return behind[:1] or here[-1:]
    before = [k for k in fitting if things[k].last <= fact.first]
    if before:
        every = {w.norm for w in findings.words} & {
            "both",
            "all",
            "each",
            "they",
            "them",
            "everything",
        }
        return before if every else before[-1:]
    return fitting[:1]


def said_of(thing: Found, fact: Found, findings: Findings, book: Book) -> bool:
    """Whether the same words are another condition that matters to a thing."""
    mine = book.conditions_that_matter(thing.target.id)
    same = [f for f in findings.facts if (f.first, f.last) == (fact.first, fact.last)]
    return any(f.target.kind == "value" and f.target.id in mine for f in same)
