"""The printed guide of a district: which common things go where, on two sides of a sheet."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date

from actions.phrases import capital, wording
from bot.publish.lines import Line, case, lines_of, lower_first, plain_day
from rules.decide import GENERAL, unknown
from rules.model import Book, Container, Guide

TAG = "bin_tag"
"""The topic that says what the tag on a bin means."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing of the guide, in one case, and the answer it stands for."""

    words: str
    line: Line


@dataclass(frozen=True, slots=True)
class Card:
    """A container: what goes in, what does not, and what changes."""

    container: Container
    streams: str
    takes: str
    refuses: str
    entries: tuple[Entry, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Things that share a place other than a container."""

    where: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that stands on the two pages. `later` are the answers that hold from another day on."""

    district: str
    day: date
    cards: tuple[Card, ...]
    never: tuple[Group, ...]
    elsewhere: tuple[Group, ...]
    changes: tuple[str, ...]
    later: tuple[Entry, ...] = field(default=())


def guide_of(book: Book) -> Guide:
    """What the rule files say is printed. Raises `Failed` if they do not."""
    from bot.processes import Failed

    if book.guide is None:
        raise Failed("The rule files do not say what is printed. Add a file with 'guide:'.")
    return book.guide


def sheet(book: Book, district: str, day: date) -> Sheet:
    """The guide of a district on a day. Raises `Failed` if the rule files have none."""
    made = [
        Entry(named(book, line), line)
        for item in guide_of(book).common
        for line in lines_of(book, item, district, day)
    ]
    now = [e for e in made if e.line.since is None]
    later = [e for e in made if e.line.since is not None]
    boxes = [c for c in book.districts[district].containers if c.period.holds(day)]
    cards = tuple(card(book, district, box, day, now, later) for box in boxes)
    shown = {id(e) for c in cards for e in c.entries}
    rest = [e for e in now if id(e) not in shown]
    hazards = [e for e in rest if is_hazard(book, e.line)]
    others = [e for e in rest if not is_hazard(book, e.line)]
    changes = sorted(
        (c for c in book.changes.values() if district in c.districts and c.on > day),
        key=lambda c: (c.on, c.id),
    )
    return Sheet(
        district,
        day,
        cards,
        groups(book, hazards),
        groups(book, others),
        tuple(c.answer for c in changes),
        tuple(later),
    )


def named(book: Book, line: Line) -> str:
    """A thing and its case: "Pizza box (from a takeaway)"."""
    told = re.sub(r" \(([^()]*)\)", r", \1", case(book, line))
    name = capital(book.items[line.item].name)
    return f"{name} ({lower_first(told)})" if told else name


def is_hazard(book: Book, line: Line) -> bool:
    """Whether a thing may go in no bin because it is dangerous."""
    return any(i and book.items[i].hazard for i in (line.item, line.decision.item))


def card(
    book: Book, district: str, box: Container, day: date, now: list[Entry], later: list[Entry]
) -> Card:
    """One container's card."""
    streams = [book.streams[s] for s, period in box.takes if period.holds(day)]
    notes = []
    joining: dict[date, list[str]] = {}
    for entry in later:
        since, decision = entry.line.since, entry.line.decision
        before = [e for e in now if e.line.item == entry.line.item]
        new = all(e.line.decision.destination != decision.destination for e in before)
        if since and decision.destination == box.code and new:
            joining.setdefault(since, []).append(lower_first(entry.words))
    for other in book.districts[district].containers:
        if other.code == box.code and other.period.start and other.period.start > day:
            notes.append(f"From {plain_day(other.period.start)} this is the {other.name}.")
    for since, names in sorted(joining.items()):
        notes.append(f"From {plain_day(since)} also: {', '.join(names)}.")
    return Card(
        box,
        " and ".join(dict.fromkeys(s.name for s in streams)),
        " ".join(s.takes for s in streams),
        " ".join(s.refuses for s in streams),
        tuple(e for e in now if e.line.decision.container == box.name),
        tuple(notes),
    )


def groups(book: Book, entries: list[Entry]) -> tuple[Group, ...]:
    """Things by the place they go to, in the order of the rule file of places."""
    out = []
    for code, goes in book.destinations.items():
        there = tuple(e for e in entries if e.line.decision.destination == code)
        if there:
            out.append(Group(capital(goes.phrase), there))
    return tuple(out)


def doubt(book: Book, district: str, day: date) -> str:
    """What to do with a thing nobody knows, in the assistant's words."""
    told = unknown(book, district, day)
    where = f"in the {told.container}" if told.container else book.destinations[
        told.destination
    ].phrase  # fmt: skip
    return f"Not in any list here, and not dangerous? Put it {where}. {told.why}"


def danger(book: Book) -> str:
    """What to do about a danger that is happening now, in the assistant's words."""
    told = book.dangers[GENERAL]
    return wording()["emergency"]["long"].format(why=told.emergency, prepare=" ".join(told.prepare))
