"""Every item of a district as lines: one for each case and each span of days with one answer.

All that is published is made from these lines, so that a list, a guide and a tag cannot differ.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from actions.phrases import assumptions, capital, contact, phrase, wording
from bot.panel.table import Line as Row
from bot.panel.table import domains, key, merged
from rules import Decision
from rules.decide import leaves
from rules.model import Book, Condition


@dataclass(frozen=True, slots=True)
class Line:
    """One answer.

    `when` holds the values of each condition under which it stands; no condition: always.
    `since` is `None` where it stands on the day of publishing already, `until` where no later
    day ends it. Both days are included.
    """

    item: str
    when: Mapping[str, tuple[str, ...]]
    decision: Decision
    since: date | None
    until: date | None

    def holds(self, day: date) -> bool:
        """Whether the line stands on a day, from the day of publishing on."""
        return (self.since is None or self.since <= day) and (
            self.until is None or day <= self.until
        )


def days_from(book: Book, day: date) -> tuple[date, ...]:
    """The day of publishing, and every later day on which an answer can change."""
    return (day, *(d for d in book.turning_days() if d > day))


LAST: list[tuple[Book, str, date, tuple[Line, ...]]] = []
"""The lines made last; several files are made from the same."""
KEPT = 6


def lines(book: Book, district: str, day: date) -> tuple[Line, ...]:
    """All lines of a district from a day on, by the items' names, then by day."""
    for known, place, on, made in list(LAST):
        if known is book and (place, on) == (district, day):
            return made
    items = sorted(book.items.values(), key=lambda i: (i.name.lower(), i.id))
    made = tuple(x for item in items for x in lines_of(book, item.id, district, day))
    LAST.append((book, district, day, made))
    del LAST[:-KEPT]
    return made


def lines_of(
    book: Book, item: str, district: str, day: date, facts: Mapping[str, str] | None = None
) -> tuple[Line, ...]:
    """One item's lines; `facts` are taken as stated."""
    days = days_from(book, day)
    ends = [d - timedelta(days=1) for d in days[1:]]
    spans = [rows(book, item, district, d, facts or {}) for d in days]
    found: list[tuple[int, int, Mapping[str, tuple[str, ...]], Decision]] = []
    open_: dict[Any, int] = {}
    for number, rows_then in enumerate(spans):
        still: dict[Any, int] = {}
        for when, decision in rows_then:
            elsewhere = tuple(other(book, district, a, days[number]) for a in decision.alternatives)
            mark = tuple(when.items()), key(decision), elsewhere
            if mark in open_:
                place = open_[mark]
                first = found[place][0]
                found[place] = first, number, when, found[place][3]
            else:
                place = len(found)
                found.append((number, number, when, decision))
            still[mark] = place
        open_ = still
    found.sort(key=lambda f: f[0])
    return tuple(
        Line(
            item,
            when,
            decision,
            days[first] if first else None,
            ends[last] if last < len(ends) else None,
        )
        for first, last, when, decision in found
    )


def rows(
    book: Book, item: str, district: str, day: date, facts: Mapping[str, str]
) -> list[tuple[Mapping[str, tuple[str, ...]], Decision]]:
    """The cases of an item on a day, each with the values it stands for, in the questions' order.

    What the assistant takes as given is taken as given here.
    """
    possible = leaves(book, district, day, item, facts, frozenset())
    given = [
        Row({c: frozenset({v}) for c, v in leaf.answers.items()}, leaf.decision)
        for leaf in possible
    ]
    order = list(dict.fromkeys(c for leaf in possible for c in leaf.answers))
    out = []
    for row in merged(given, domains(given)):
        when = {
            c: tuple(v for v in book.conditions[c].values if v in row.cells[c])
            for c in order
            if c in row.cells
        }
        out.append((when, row.decision))
    return out


def case(book: Book, line: Line) -> str:
    """The case in the words of the answers to choose from, or nothing.

    The words stand without their question here, so "Yes, still usable" is "Still usable".
    """
    said = []
    for condition, values in line.when.items():
        asked = book.conditions[condition]
        labels = [stated(asked, v) for v in values]
        said.append(" or ".join([labels[0], *(lower_first(x) for x in labels[1:])]))
    return ", ".join([said[0], *(lower_first(x) for x in said[1:])]) if said else ""


def stated(asked: Condition, value: str) -> str:
    """An answer to a question as a statement; a bare yes or no keeps its question."""
    label = asked.values[value].label
    if label == "No" and any(v.label.startswith("Yes, ") for v in asked.values.values()):
        return "Otherwise"
    if label in ("Yes", "No"):
        return f"{asked.short} {label}"
    for word in ("Yes, ", "No, "):
        label = label.removeprefix(word)
    return capital(label)


def lower_first(text: str) -> str:
    """A label for use inside a sentence; a name in capitals such as LED or PET stays."""
    first = text.split(" ", 1)[0]
    return text if len(first) > 1 and first.isupper() else text[:1].lower() + text[1:]


def where(book: Book, line: Line) -> str:
    """Where it goes, in the assistant's words."""
    return capital(phrase(book, line.decision))


def holds_if(book: Book, line: Line) -> str:
    """What is taken as given, in the assistant's words, or nothing."""
    return assumptions(book, line.decision)


def others(book: Book, line: Line, day: date) -> list[str]:
    """The other places it may go, as the end of a sentence."""
    decision = line.decision
    on = max(day, line.since) if line.since else day
    return [other(book, str(decision.district), code, on) for code in decision.alternatives]


def other(book: Book, district: str, code: str, day: date) -> str:
    """Another place in words, by its container's name where it has one."""
    container = book.container(district, code, day)
    if container is None:
        return book.destinations[code].phrase
    return f"in the {container.name}" if book.destinations[code].kind == "bin" else container.name


def said(book: Book, line: Line, day: date) -> list[str]:
    """An answer in sentences, each in the assistant's words: where, caution, how, what else."""
    words, decision = wording()["answer"], line.decision
    out = [f"{where(book, line)}."]
    if book.destinations[decision.destination].kind == "service":
        out.append(words["service"].format(**contact(book)))
    if decision.caution:
        out.append(words["caution"].format(caution=decision.caution))
    out += decision.prepare
    places = others(book, line, day)
    if places:
        out.append(words["or"].format(alternatives="; or ".join(places)))
    assumed = holds_if(book, line)
    if assumed:
        out.append(words["assumed"].format(assumed=assumed))
    return out


def plain_day(day: date) -> str:
    """A day as people write it."""
    return f"{day.day} {day:%B %Y}"


def span(line: Line) -> str:
    """When it stands, in words, or nothing if no change is known."""
    parts = []
    if line.since:
        parts.append(f"from {plain_day(line.since)}")
    if line.until:
        parts.append(f"until {plain_day(line.until)}")
    return capital(" ".join(parts))
