"""Findings as the framework's entities, and as the words the intent classifier sees."""

from __future__ import annotations

from typing import Any

from bot.language.found import Context, Findings, Found, Unknown
from bot.language.groups import owners, segments
from bot.language.manner import manners
from bot.language.placed import placed, residue
from bot.language.pointing import pointing
from bot.language.spelling import english
from bot.language.words import language
from rules.model import Book

MASK = {
    "item": "itemword",
    "district": "districtword",
    "container": "containerword",
    "centre": "placeword",
    "value": "condword",
    "sign": "condword",
    "decline": "declineword",
    "live": "dangerword",
    "mark": "markword",
}


COMMON = "nounword"
"""Mask of a name that is one everyday word with other senses too: paper, can, card."""

EVERYDAY = 20_000_000
"""Count in the English list from which a word is an everyday one (about the first 3,000)."""


BESIDE = frozenset({"condword", "thingword", "noiseword"})
"""Masks after which the word itself is given too, if training has seen it."""


def is_common(found: Found, findings: Findings) -> bool:
    """Whether a name is one everyday word."""
    inside = [w for w in findings.words[found.first : found.last] if w.is_word]
    return len(inside) == 1 and english().get(inside[0].norm, 0) >= EVERYDAY


def masked(findings: Findings, context: Context) -> list[tuple[str, int, int]]:
    """The message as the classifier sees it: what the book knows is replaced by its kind.

    Each part is a word and where it was typed. A word that is not of a question's frame becomes
    `thingword`, or `noiseword` if it is not English.
    """
    words = findings.words
    label: dict[int, tuple[str, int]] = {}
    order = (*findings.live, *findings.marks, *findings.names, *findings.facts)
    for f in order:
        if f.target.kind == "decline" and f.negated:
            continue
        if any(k in label for k in range(f.first, f.last)):
            continue
        mask = MASK[f.target.kind]
        if f.target.kind == "item" and is_common(f, findings):
            mask = COMMON
        for k in range(f.first, f.last):
            label[k] = (mask, f.first)
    for _, start, end in findings.days:
        inside = [i for i, w in enumerate(words) if start <= w.start < end]
        for k in inside:
            label[k] = ("dateword", inside[0])
    for u in findings.unknown:
        for k in range(u.first, u.last):
            if k not in label:
                label[k] = ("thingword" if words[k].norm in english() else "noiseword", u.first)
    out: list[tuple[str, int, int]] = []
    last: tuple[str, int] | None = None
    for k, word in enumerate(words):
        here = label.get(k)
        if here:
            if here != last:
                out.append((here[0], word.start, word.end))
            elif here[0] not in BESIDE:
                out[-1] = (here[0], out[-1][1], word.end)
            if here[0] == "condword" or (here[0] in BESIDE and word.norm in context.seen):
                out.append((word.norm, word.start, word.end))
        elif word.is_word:
            out.append((word.norm, word.start, word.end))
        last = here
    return out


def entities(findings: Findings, context: Context, text: str) -> list[dict[str, Any]]:
    """The findings as entities of the framework.

    `group` numbers the things named, in order; a fact carries the groups of the things it
    belongs to. Kinds: item, unknown, fact (role: the condition), sign, district, container,
    centre, mark, day, danger, decline, topic, guess, manner.
    """
    words, book = findings.words, context.lexicon.book
    out: list[dict[str, Any]] = []

    def add(kind: str, value: str, first: int, last: int, **more: Any) -> None:
        start, end = words[first].start, words[last - 1].end
        entry = {
            "entity": kind,
            "value": value,
            "start": start,
            "end": end,
            "said": text[start:end],
        }
        out.append({**entry, **more, "extractor": "BookReader"})

    things: list[Found] = sorted(
        {(n.first, n.last, n.target.id): n for n in findings.of("item")}.values(),
        key=lambda n: n.first,
    )
    for k, thing in enumerate(things):
        generic = thing.target.id in context.lexicon.generic.values()
        add(
            "item",
            thing.target.id,
            thing.first,
            thing.last,
            group=str(k),
            generic=generic,
            common=is_common(thing, findings),
            placed=placed(thing, findings) or residue(thing, findings),
        )
    for n in findings.of("district", "container", "centre"):
        add(n.target.kind, n.target.id, n.first, n.last, role=n.target.part or None)
    for m in findings.marks:
        add("mark", m.target.id, m.first, m.last)
    for f in findings.facts:
        kind = f.target.kind
        if kind == "value":
            value = f.target.part
            if f.negated:
                value = opposite(book, f.target.id, value)
            if not value:
                continue
            inside = [k for k, t in enumerate(things) if t.first <= f.first and f.last <= t.last]
            who: list[int] | None = []
            if not inside and context.has("owners"):
                who = owners(f, things, findings, context)
            elif not inside:
                who = list(range(len(things)))
            if who is None:
                continue
            add(
                "fact",
                value,
                f.first,
                f.last,
                role=f.target.id,
                group=",".join(map(str, who)),
                inside=bool(inside),
                negated=f.negated or f.denial,
            )
        elif not f.negated or kind == "decline":
            add(kind, f.target.id, f.first, f.last)
    for f in findings.live:
        add("danger", f.target.id, f.first, f.last)
    for f in findings.live_of_last:
        add("danger_of_last", f.target.id, f.first, f.last)
    everything = {"start": 0, "end": len(text), "extractor": "BookReader"}
    out += [{"entity": "manner", "value": m, **everything} for m in manners(findings)]
    for value, start, end in findings.days:
        out.append(
            {
                "entity": "day",
                "value": value,
                "start": start,
                "end": end,
                "said": text[start:end],
                "extractor": "BookReader",
            }
        )
    part = segments(findings)
    named = {part[n.first] for n in things}
    for u in findings.unknown:
        first = u.first
        before = language().articles | language().family
        while first > 0 and words[first - 1].norm in before and words[first - 1].is_word:
            first -= 1
        add(
            "unknown",
            text[words[u.first].start : words[u.last - 1].end],
            first,
            u.last,
            english=u.english,
            article=first < u.first,
            alone=stands_alone(u, findings, part, named),
        )
    named_at = [int(e["start"]) for e in out if e["entity"] in ("item", "unknown")]
    for way in pointing(text, min(named_at, default=len(text))):
        out.append({"entity": "manner", "value": way, **everything})
    for condition, guessed, likely in findings.guesses:
        likeness = round(likely, 3)
        more = {"role": condition, "confidence_entity": likeness, **everything}
        out.append({"entity": "guess", "value": guessed, **more})
    for topic, score in findings.topics:
        likeness = round(score, 3)
        out.append({"entity": "topic", "value": topic, "confidence_entity": likeness, **everything})
    return out


def stands_alone(u: Unknown, findings: Findings, part: list[int], named: set[int]) -> bool:
    """Whether an unknown thing is a whole entry of a list, articles aside."""
    if part[u.first] in named:
        return False
    rest = [
        w.norm
        for k, w in enumerate(findings.words)
        if part[k] == part[u.first] and not u.first <= k < u.last and w.is_word
    ]
    lang = language()
    return all(w in lang.articles or w in lang.parts for w in rest)


def opposite(book: Book, condition: str, value: str) -> str:
    """The value meant by denying one, or nothing if that leaves more than one."""
    values = book.conditions[condition].values
    if values[value].denied:
        return str(values[value].denied)
    others = [v for v in values if v != value]
    return others[0] if len(others) == 1 else ""
