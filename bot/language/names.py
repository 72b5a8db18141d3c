"""Finds items, districts, containers and centres by name."""

from __future__ import annotations

from collections.abc import Iterator

from bot.language.found import Context, Findings, Found
from bot.language.spelling import english
from bot.language.words import joined, language

TURNED = frozenset({"of", "for", "from", "containing", "holding"})


def find_names(findings: Findings, context: Context) -> None:
    """Add the names in a message: the longest win, and the last noun of a compound is the thing."""
    plain = list(straight(findings, context))
    other_way = [
        t for t in turned(findings, context) if not any(c.first < t.first < c.last for c in plain)
    ]
    candidates = [*plain, *other_way]
    candidates.sort(key=lambda f: (f.first - f.last, -f.last))
    chosen: list[Found] = []
    for c in candidates:
        if all(c.last <= o.first or o.last <= c.first for o in chosen):
            chosen.append(c)
    chosen.sort(key=lambda f: f.first)
    findings.names = heads(chosen, findings, context)


def straight(findings: Findings, context: Context) -> Iterator[Found]:
    """Names in the order of the words, also written together or apart."""
    words, names = findings.words, context.lexicon.names
    joins = language().joins_name
    for i, word in enumerate(words):
        if not word.is_word:
            continue
        key = ""
        taken = 0
        for j in range(i, min(len(words), i + context.lexicon.longest + 3)):
            if not words[j].is_word:
                if words[j].norm in joins:
                    continue
                break
            key += words[j].norm
            taken += 1
            if taken > context.lexicon.longest + 1:
                break
            for target in names.get(key, ()):
                yield Found(target, i, j + 1)


def turned(findings: Findings, context: Context) -> Iterator[Found]:
    """Names said the other way round: "box from a pizza", "tin of paint"."""
    words, names = findings.words, context.lexicon.names
    articles = language().articles
    for p, word in enumerate(words):
        if word.norm not in TURNED:
            continue
        start = p + 1
        while start < len(words) and words[start].norm in articles:
            start += 1
        for head in (2, 1):
            for size in (3, 2, 1):
                if p - head < 0 or start + size > len(words):
                    continue
                before = [w.norm for w in words[p - head : p]]
                after = [w.norm for w in words[start : start + size]]
                for target in names.get(joined(after + before), ()):
                    if target.kind == "item":
                        yield Found(target, p - head, start + size)
    yield from came_in(findings, context)


CAME = frozenset(
    {"came", "come", "comes", "was", "were", "is", "are", "bought", "sold", "wrapped", "packed"}
    | {"delivered", "arrived"}
)


def came_in(findings: Findings, context: Context) -> Iterator[Found]:
    """A holder named by what came in it: "the box the washing powder came in"."""
    words, names = findings.words, context.lexicon.names
    articles, holds = language().articles, language().holds
    for i, word in enumerate(words):
        if word.norm not in holds:
            continue
        start = i + 1
        while start < len(words) and words[start].norm in (*articles, "that", "which"):
            start += 1
        for size in (3, 2, 1):
            end = start + size
            if end + 1 >= len(words) or words[end].norm not in CAME or words[end + 1].norm != "in":
                continue
            thing = [w.norm for w in words[start:end]]
            for target in names.get(joined([*thing, word.norm]), names.get(word.norm, ())):
                if target.kind == "item":
                    yield Found(target, i, end + 2)


def heads(chosen: list[Found], findings: Findings, context: Context) -> list[Found]:
    """Names that are the thing meant, not the first half of a longer name nobody listed.

    In "jam jar lid" the lid is meant, in "fish tank" nothing the rules know. A hazard before a
    plain container word is the thing itself: "petrol can".
    """
    words = findings.words
    kept: list[Found] = []
    for i, name in enumerate(chosen):
        if name.target.kind != "item":
            kept.append(name)
            continue
        after = chosen[i + 1] if i + 1 < len(chosen) else None
        plural = words[name.last - 1].plural
        if after and after.first == name.last and after.target.kind == "item" and not plural:
            if is_hazard(name, context) and words[after.last - 1].norm in language().holds:
                kept.append(Found(name.target, name.first, after.last))
                chosen[i + 1] = Found(after.target, after.first, after.first)
            continue
        if name.first == name.last:
            continue
        if after and after.first == name.last:
            kept.append(name)
            continue
        if not plural and name.last < len(words) and noun_like(name.last, findings, context):
            continue
        kept.append(name)
    return kept


def is_hazard(name: Found, context: Context) -> bool:
    """Whether an item is marked dangerous."""
    return bool(context.lexicon.book.items[name.target.id].hazard)


def noun_like(position: int, findings: Findings, context: Context) -> bool:
    """Whether a word is likely a thing: not of a question's frame, not a word the book uses."""
    word = findings.words[position]
    norm = word.norm
    if not norm.isalpha() or len(norm) < 3 or norm in language().skip:
        return False
    if norm in context.frame or norm in context.lexicon.vocabulary:
        return False
    if norm.endswith(("ed", "ing", "ly")):
        return False
    return norm in english() or len(norm) > 4
