"""Finds items, districts, containers and centres by name."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from bot.language.came import came_in
from bot.language.found import Context, Findings, Found
from bot.language.spelling import english
from bot.language.words import joined, language

JOINED = frozenset({"and", "or", "plus"})

TURNED = frozenset({"of", "for", "from", "off", "containing", "holding"})


def find_names(findings: Findings, context: Context) -> None:
    """Add the names in a message: the longest win, and the last noun of a compound is the thing."""
    plain = [
        *straight(findings, context),
        *toys(findings, context),
        *contrasts(findings, context),
    ]
    other_way = [
        t
        for t in (turned(findings, context) if context.has("turned") else ())
        if not any(c.first < t.first < c.last for c in plain)
    ]
    candidates = [*plain, *other_way]
    candidates.sort(key=lambda f: (f.first - f.last, -f.last))
    chosen: list[Found] = []
    for c in candidates:
        if all(c.last <= o.first or o.last <= c.first for o in chosen):
            chosen.append(c)
    chosen.sort(key=lambda f: f.first)
    findings.names = heads(chosen, findings, context) if context.has("heads") else chosen


def straight(findings: Findings, context: Context) -> Iterator[Found]:
    """Names in the order of the words, also written together or apart."""
    words, names = findings.words, context.lexicon.names
    joins = language().joins_name
    for i, word in enumerate(words):
        if not word.is_word:
            continue
        if word.norm in language().noun_after and is_noun(i, findings):
            for target in names.get(language().noun_after[word.norm], ()):
                yield Found(target, i, i + 1)
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
            several = key[:-1] if words[j].norm == "cans" and taken > 1 else key
            for target in names.get(key) or names.get(several, ()):
                yield Found(target, i, j + 1)


def is_noun(i: int, findings: Findings) -> bool:
    """Whether a word such as "can" is a thing: alone, or behind an article."""
    spoken = [k for k, w in enumerate(findings.words) if w.is_word]
    before = findings.words[i - 1].norm if i else ""
    return before in language().makes_noun or len(spoken) == 1


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
    yield from described_behind(findings, context)


def described_behind(findings: Findings, context: Context) -> Iterator[Found]:
    """Names with their describing word behind, as in notes: "barbecue, disposable"."""
    words, names = findings.words, context.lexicon.names
    spoken = [k for k, w in enumerate(words) if w.is_word]
    for one, two in pairwise(spoken):
        key = words[two].norm + words[one].norm
        alone = words[two].norm in names or words[two].norm in language().material_words
        if alone or key not in names or words[one].norm + words[two].norm in names:
            continue
        if two - one > 2 or (two - one == 2 and words[one + 1].norm != ","):
            continue
        if two + 1 < len(words) and words[two + 1].is_word and words[two + 1].norm not in JOINED:
            continue
        for target in names[key]:
            if target.kind == "item" and words[one].norm in names:
                yield Found(target, one, two + 1)


def toys(findings: Findings, context: Context) -> Iterator[Found]:
    """Toys of things: a "toy grenade" is a toy, whatever the rules say of grenades."""
    words, names = findings.words, context.lexicon.names
    for i, word in enumerate(words[:-1]):
        if word.norm not in language().makes_toy:
            continue
        for size in (3, 2, 1):
            part = words[i + 1 : i + 1 + size]
            if len(part) == size and names.get(joined(w.norm for w in part)):
                for target in names.get(word.norm, ()):
                    yield Found(target, i, i + 1 + size)
                break


def contrasts(findings: Findings, context: Context) -> Iterator[Found]:
    """What is meant where another kind of it is denied: "not the plastic tub, the card one"."""
    words, names = findings.words, context.lexicon.names
    denials = [k for k, w in enumerate(words) if w.norm == "not"]
    for i, word in enumerate(words):
        if word.norm != "one" or i < 3 or not words[i - 1].is_word:
            continue
        start = next((k for k in reversed(denials) if i - 10 <= k < i - 2), None)
        if start is None:
            continue
        thing = [k for k in range(start + 1, i - 1) if words[k].is_word]
        for head in range(thing[0], i - 1) if thing else ():
            for last in range(i - 1, head, -1):
                denied = joined(w.norm for w in words[head:last] if w.is_word)
                for target in names.get(words[i - 1].norm + denied, ()) if denied else ():
                    if target.kind == "item":
                        yield Found(target, start, i + 1)
                        return


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
        if after and after.first == name.last and only_material(after, findings):
            kept.append(name)
            chosen[i + 1] = Found(after.target, after.first, after.first)
            continue
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
        if (
            not plural
            and after
            and after.first == name.last + 1
            and names_more(name.last, findings, context)
        ):
            continue
        kept.append(name)
    return kept


def only_material(name: Found, findings: Findings) -> bool:
    """Whether a name only tells what the one before it is made of: "egg box cardboard one"."""
    words, lang = findings.words, language()
    if name.last - name.first != 1 or words[name.first].norm not in lang.made_behind:
        return False
    if name.last >= len(words) or not words[name.last].is_word:
        return True
    return words[name.last].norm in lang.kind_words | {"one"}


def names_more(position: int, findings: Findings, context: Context) -> bool:
    """Whether a word between two names belongs to one long name: "loo cleaner trigger spray"."""
    norm = findings.words[position].norm
    if norm in language().compound_middles:
        return True
    known = norm in context.frame or norm in language().skip or norm in language().articles
    if known or not norm.isalpha() or norm in context.lexicon.phrases:
        return False
    return norm in english() and not norm.endswith(("ed", "ing", "ly"))


def is_hazard(name: Found, context: Context) -> bool:
    """Whether an item is marked dangerous."""
    return bool(context.lexicon.book.items[name.target.id].hazard)


def noun_like(position: int, findings: Findings, context: Context) -> bool:
    """Whether a word is likely a thing: not of a question's frame, not a word the book uses."""
    word = findings.words[position]
    norm = word.norm
    if not norm.isalpha() or len(norm) < 3 or norm in language().skip:
        return False
    if norm in language().vocatives or not norm.isascii():
        return False
    if norm in context.frame or norm in context.lexicon.vocabulary:
        return False
    if norm.endswith(("ed", "ing", "ly")):
        return False
    return norm in english() or len(norm) > 4
