"""Tells a danger that is happening now from words that only look like one."""

from __future__ import annotations

from bot.language.found import Context, Findings, Found
from bot.language.words import joined, language
from rules.model import Book

NEAR = 6


def find_danger(findings: Findings, context: Context) -> None:
    """Keep of the live-danger words those that mean a live danger here.

    A general sign counts by itself; the sign of one kind of hazard only beside a thing of that
    kind, named here or (`live_of_last`) talked of just before. What is denied, only feared, or part
    of a harmless name ("smoke alarm") does not count.
    """
    masked = harmless(findings, context)
    kinds = {hazard_of(n, context.lexicon.book) for n in findings.of("item")}
    signs = [f.target.id for f in findings.facts if f.target.kind == "sign"]
    kinds |= {context.lexicon.book.signs[s].danger for s in signs}
    kinds.discard(None)
    findings.facts = [
        f
        for f in findings.facts
        if f.target.kind != "sign" or not any(k in masked for k in range(f.first, f.last))
    ]
    live, of_last = [], []
    for found in findings.live:
        if any(k in masked for k in range(found.first, found.last)):
            continue
        danger = context.lexicon.book.dangers.get(found.target.id)
        beside = bool(kinds) if danger and danger.any_hazard else found.target.id in kinds
        if any(n.covers(found) for n in findings.of("item")):
            continue
        if denied(found, findings) or long_past(found, findings):
            continue
        (live if beside or not found.target.id else of_last).append(found)
    findings.live, findings.live_of_last = live, of_last
    findings.names = [n for n in findings.names if not any(f.covers(n) for f in live)]
    findings.names = [n for n in findings.names if not only_sounds(n, masked, findings, context)]


def only_sounds(name: Found, masked: set[int], findings: Findings, context: Context) -> bool:
    """Whether a hazard's name is only part of a harmless phrase: the "bomb" of "bath bomb"."""
    if name.target.kind != "item" or not context.lexicon.book.items[name.target.id].hazard:
        return False
    skip = language().skip
    inside = all(
        k in masked or findings.words[k].norm in skip for k in range(name.first, name.last)
    )
    return inside and (name.first - 1 in masked or name.last in masked)


def hazard_of(name: Found, book: Book) -> str | None:
    """The kind of danger of an item or, for a word with several meanings, of the first of them."""
    item = book.items[name.target.id]
    if item.hazard:
        return item.hazard
    for row in item.table.rows:
        if row.see and book.items[row.see].hazard:
            return book.items[row.see].hazard
    return None


def harmless(findings: Findings, context: Context) -> set[int]:
    """Positions of words that belong to a name or phrase that only looks dangerous."""
    skip = language().skip
    words = [(i, w.norm) for i, w in enumerate(findings.words) if w.is_word and w.norm not in skip]
    masked: set[int] = set()
    for a in range(len(words)):
        for b in range(a + 1, min(len(words), a + 6) + 1):
            start = words[a][0]
            denied_before = start > 0 and findings.words[start - 1].norm in language().negators
            if not denied_before and joined(w for _, w in words[a:b]) in context.lexicon.exceptions:
                masked |= {i for i, _ in words[a:b]}
    return masked


def long_past(found: Found, findings: Findings) -> bool:
    """Whether it is said to be long ago: "caught fire last year"."""
    behind = " ".join(w.norm for w in findings.words[found.last : found.last + 4])
    return any(past in behind for past in language().long_past)


STARTS = frozenset({"it", "there", "they", "that", "which"})
IS = frozenset({"is", "are", "has", "have", "got", "was", "were"})


def new_clause(k: int, found: Found, findings: Findings) -> bool:
    """Whether a word begins a clause of its own that says the danger: "they will not take my bin
    it has smoke coming out", but not "if it is smoking" or "not that it is smoking"."""
    words = findings.words
    if words[k].norm not in STARTS or k + 1 >= found.first or words[k + 1].norm not in IS:
        return False
    before = words[k - 1].norm if k else ""
    lang = language()
    return before not in lang.negators | lang.feared | lang.still | {"that", "when", "say", "until"}


def denied(found: Found, findings: Findings) -> bool:
    """Whether the danger is denied ("not smoking") or only asked about ("could it catch fire")."""
    lang = language()
    for seen, k in enumerate(range(found.first - 1, -1, -1), 1):
        word = findings.words[k]
        if not word.is_word or word.norm in lang.negation_ends:
            return False
        if new_clause(k, found, findings):
            return False
        after = findings.words[k + 1].norm
        if word.norm in lang.negators and after not in lang.still:
            return True
        if word.norm in lang.feared:
            return True
        if seen >= NEAR:
            return False
    return False
