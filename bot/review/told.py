"""One group of the review list as plain lines for the terminal."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from bot.review.accept import rule_place
from bot.review.entry import WHYS
from bot.review.listing import STATES, Group
from bot.review.nearest import answers, nearest_in
from rules.model import Book

EXAMPLES = 12
"""Questions that are printed, the latest."""


def told(group: Group, book: Book) -> Iterator[str]:
    """The lines."""
    times = "once" if group.asked == 1 else f"{group.asked} times"
    yield f"{group.title}: asked {times}, {STATES[group.state].lower()}"
    yield f"key      {group.key}"
    yield "why      " + ", ".join(f"{WHYS[w]} ({n})" for w, n in group.whys)
    yield "where    " + ", ".join(f"{d or 'not known'} ({n})" for d, n in group.counts("district"))
    yield "channel  " + ", ".join(f"{c} ({n})" for c, n in group.counts("channel"))
    yield f"when     {group.first} to {group.last}"
    if group.hazard:
        yield f"hazard   {group.hazard}: take care that it stays out of every bin"
    if group.note:
        yield f"note     {group.note}"
    if group.kind == "words":
        yield from nearest_lines(group, book)
    else:
        for rule in dict.fromkeys(e.rule for e in group.entries if e.rule):
            place = rule_place(book, rule)
            yield f"rule     {rule}" + (f" (now {place})" if place else " (no longer there)")
    yield ""
    yield "Questions:"
    for e in sorted(group.entries, key=lambda e: e.at, reverse=True)[:EXAMPLES]:
        demo = ", demo" if e.demo else ""
        whys = ", ".join(WHYS[w] for w in e.whys)
        yield f"  {e.day} {e.channel}, {e.district or 'no district'}{demo}: {e.question or e.note}"
        note = f"; remark: {e.note}" if e.note and e.question else ""
        yield f"      {whys}{note}; conversation {e.conversation or 'forgotten'}"


def nearest_lines(group: Group, book: Book) -> Iterator[str]:
    """The nearest items with what each answers today."""
    near = nearest_in(book).of(group.forms)
    if not near:
        yield "nearest  no item is like it"
        return
    yield ""
    yield "Nearest items, and what they answer today:"
    for n in near:
        yield f"  {n.item} ({n.name}; {n.because})"
        for districts, cases in answers(book, n.item, date.today()):
            goes = "; ".join(f"{case}: {goes}" if case else goes for case, goes in cases)
            yield f"      {', '.join(districts)}: {goes}"
