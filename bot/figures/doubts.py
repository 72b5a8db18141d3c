"""Where people go wrong or the rules do: second questions, other bins, unknown things, remarks."""

from __future__ import annotations

import re
from collections import Counter

from bot.figures import words
from bot.figures.counts import CHARTED, MOST, by_frequency
from bot.figures.definitions import (
    CALM,
    FOLLOWED,
    REMARK,
    SECOND,
    TOLD,
    UNKNOWN,
    Bins,
)
from bot.figures.figure import Bars, Column, Figure, amount, percent
from bot.figures.follow import LOST, OUTCOMES, SETTLED
from bot.figures.traffic import Traffic
from rules.model import Book

ARTICLE = re.compile(r"^(?:a|an|the|my|our|some)\s+(?=\S)")
FORGOTTEN = "(words forgotten)"


def second(book: Book, traffic: Traffic) -> Figure:
    """Questions the assistant asked, and what became of them, by what was asked."""
    every = traffic.second
    ends = [o for o in OUTCOMES if o != LOST or any(s.outcome == LOST for s in every)]
    count: Counter[tuple[str, str]] = Counter((s.condition, s.outcome) for s in every)
    totals: Counter[str] = Counter(s.condition for s in every)
    known = FOLLOWED.among(every)
    settled = sum(s.outcome == SETTLED for s in known)
    again = sum(s.times > 1 for s in known)
    rows = []
    for c in by_frequency(totals):
        whole = totals[c] - count[c, LOST]
        part = count[c, SETTLED] / whole if whole else None
        rows.append((words.condition(c), totals[c], *(count[c, o] for o in ends), part))
    summary = f"{amount(len(every), 'second question')}."
    if known:
        summary += f" {percent(settled / len(known))} of those that can be followed were settled."
    if again:
        summary += f" {again:,} had to be put again."
    shares = [(OUTCOMES[o], sum(s.outcome == o for s in known)) for o in ends if o != LOST]
    return Figure(
        "second",
        "Questions that needed a second question",
        f"{SECOND} {FOLLOWED.says}",
        summary,
        (
            Column("Asked about", "text"),
            Column("Times"),
            *(Column(OUTCOMES[o]) for o in ends),
            Column("Share settled", "share"),
        ),
        tuple(rows[:MOST]),
        Bars(
            tuple(name for name, _ in shares),
            (("Questions", tuple(n / len(known) for _, n in shares)),),
            tuple(f"{percent(n / len(known))} ({n:,})" for _, n in shares),
            "share of second questions",
        )
        if known
        else None,
        tuple(
            {"figure": "second", "measure": "questions", "condition": c, "outcome": o}
            | {"value": count[c, o]}
            for c in by_frequency(totals)
            for o in ends
        ),
        len(rows),
    )


def bins(book: Book, traffic: Traffic) -> Figure:
    """Where people mean one container and the rule says another."""
    containers = Bins(book)
    asked = containers.asked(traffic.things)
    wrong = containers.another.among(asked)
    keys = [(t.item or "", containers.of(t)[0], t.destination) for t in wrong]
    count = Counter(keys)
    split = Counter((k, t.district or words.NOWHERE) for k, t in zip(keys, wrong, strict=True))
    there = {d for _, d in split}
    listed = [d for d in (*book.districts, words.NOWHERE) if d in there]
    listed += sorted(there - set(listed))
    ranked = sorted(count, key=lambda key: (-count[key], key))
    rows = tuple(
        (
            words.item(book, key[0] or None),
            words.place(book, key[1]),
            words.place(book, key[2]),
            count[key],
            *(split[key, d] for d in listed),
        )
        for key in ranked[:MOST]
    )
    return Figure(
        "bins",
        "Where people mean one container and the rule says another",
        f"{containers.named.says} {containers.another.says} Where several were named, the first is "
        "shown. A container "
        f"named before the assistant’s question counts. {CALM.says} {TOLD.says}",
        f"In {percent(len(wrong) / len(asked))} of {amount(len(asked), 'case')} with a container "
        "named, the rule says another. These are what a leaflet or a bin tag could put right."
        if asked
        else "Nobody named a container.",
        (
            Column("Thing", "text"),
            Column("People mean", "text"),
            Column("Right is", "text"),
            Column("Times"),
            *(Column(words.district(book, d)) for d in listed),
        ),
        rows,
        Bars(
            tuple(f"{r[0]}: {r[1]} → {r[2]}" for r in rows[:CHARTED]),
            tuple(
                (words.district(book, d), tuple(float(split[k, d]) for k in ranked[:CHARTED]))
                for d in listed
            ),
            tuple(f"{count[key]:,}" for key in ranked[:CHARTED]),
            "times meant for another container",
        )
        if ranked
        else None,
        (
            {"figure": "bins", "measure": "container named", "value": len(asked)},
            *(
                {"figure": "bins", "measure": "another container", "item": key[0] or "unknown"}
                | {"meant": key[1], "destination": key[2], "district": d or "none"}
                | {"value": split[key, d]}
                for key in ranked
                for d in listed
                if split[key, d]
            ),
        ),
        len(ranked),
    )


def folded(said: str) -> str:
    """Words of an unknown thing, so that the same ones count together."""
    text = words.plain(said).casefold()
    return ARTICLE.sub("", text) or FORGOTTEN


def unknown(book: Book, traffic: Traffic) -> Figure:
    """The things asked about that no rule knows."""
    things = UNKNOWN.among(TOLD.among(traffic.things))
    count: Counter[str] = Counter(folded(t.said) for t in things)
    where: dict[str, Counter[str]] = {}
    for t in things:
        where.setdefault(folded(t.said), Counter())[t.destination] += 1
    ranked = by_frequency(count)
    rows = tuple(
        (w, count[w], ", ".join(words.place(book, d) for d in by_frequency(where[w])))
        for w in ranked[:MOST]
    )
    return Figure(
        "unknown",
        "Things no rule knows",
        f"{TOLD.says} {UNKNOWN.says} Names, phone numbers and addresses in them are masked as far "
        "as the program knows them.",
        f"{amount(len(things), 'time')} for {amount(len(ranked), 'wording')}."
        if ranked
        else "Every thing was known.",
        (Column("In their words", "text"), Column("Times"), Column("Sent to", "text")),
        rows,
        Bars(
            tuple(ranked[:CHARTED]),
            (("Times", tuple(float(count[w]) for w in ranked[:CHARTED])),),
            tuple(f"{count[w]:,}" for w in ranked[:CHARTED]),
            "times asked about",
        )
        if ranked
        else None,
        tuple(
            {"figure": "unknown", "measure": "times", "words": w, "destination": d}
            | {"value": where[w][d]}
            for w in ranked
            for d in by_frequency(where[w])
        ),
        len(ranked),
    )


def remarks(book: Book, traffic: Traffic) -> Figure:
    """What people said of answers."""
    found = REMARK.among(traffic.remarks)
    count: Counter[tuple[str, str]] = Counter((r.channel, r.kind) for r in found)
    totals: Counter[str] = Counter(r.channel for r in found)
    channels = by_frequency(totals)
    right = sum(r.kind == "right" for r in found)
    told = list(words.REMARKS)
    return Figure(
        "remarks",
        "What people said of answers",
        REMARK.says + " Few people say anything, and those who do may not be like the rest.",
        f"{amount(len(found), 'remark')}; right: {percent(right / len(found))}."
        if found
        else "Nobody made a remark.",
        (
            Column("Channel", "text"),
            *(Column(words.REMARKS[k]) for k in told),
            Column("All"),
        ),
        tuple((words.channel(c), *(count[c, k] for k in told), totals[c]) for c in channels),
        Bars(
            tuple(words.channel(c) for c in channels),
            tuple((words.REMARKS[k], tuple(float(count[c, k]) for c in channels)) for k in told),
            tuple(f"{totals[c]:,}" for c in channels),
            "remarks",
        )
        if found
        else None,
        tuple(
            {"figure": "remarks", "measure": "remarks", "channel": c, "kind": k}
            | {"value": count[c, k]}
            for c in channels
            for k in told
        ),
        len(channels),
    )
