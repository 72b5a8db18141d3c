"""The part of the proof that reads the book's texts, names and review dates."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from string import Formatter

from rules import sms
from rules.finding import Findings
from rules.model import Book, Change, Item, Place, Table, Topic
from rules.names import name_key

PARTS = 2
"""Text messages an answer may take."""

FILLED = frozenset({"item", "container"})
"""What a row's texts may name in braces."""


def check_texts(book: Book, today: date, found: Findings) -> None:
    """Every finding about texts, names, review dates and entries that nothing uses."""
    for place, text, known in texts_of(book):
        placeholders(place, text, known, found)
    for place, steps in steps_of(book):
        for step in steps:
            one_step(place, step, found)
    for item in book.items.values():
        for table in tables_of(item):
            reasons(item, table, found)
    names(book, found)
    reviews(book, today, found)
    unused(book, found)
    for told in talk(book):
        fits(told.where, told.short, "its 'short'", found)


def talk(book: Book) -> tuple[Topic | Change, ...]:
    """What is said that is not about one item."""
    return (*book.topics.values(), *book.changes.values())


def tables_of(item: Item) -> tuple[Table, ...]:
    """An item's table and those it has for single districts."""
    return (item.table, *item.overrides.values())


def own_place(book: Book, item: Item, table: Table, field: str) -> Place:
    """Where a table's text stands: in the shared table, unless the item says it itself."""
    shared = book.tables.get(table.name)
    same = shared is not None and getattr(shared, field) == getattr(table, field)
    return table.where if same else item.where


def each(text: str | tuple[str, ...] | None) -> tuple[str, ...]:
    """A text or several as several."""
    return (text,) if isinstance(text, str) else text or ()


def texts_of(book: Book) -> Iterator[tuple[Place, str, frozenset[str]]]:
    """Every text a resident reads, with the placeholders that are filled in it."""
    nothing: frozenset[str] = frozenset()
    for item in book.items.values():
        for table in tables_of(item):
            yield from (
                (own_place(book, item, table, field), t, FILLED)
                for field in ("because", "why", "caution", "prepare")
                for t in each(getattr(table, field))
            )
            for row in table.rows:
                three = (row.why, row.caution, *(row.prepare or ()))
                yield from ((row.where, t, FILLED) for t in three if t)
    for condition in book.conditions.values():
        for text in (condition.question, condition.again, condition.short):
            yield condition.where, text, frozenset({"item"})
        for value in condition.values.values():
            yield from ((condition.where, t, nothing) for t in (value.label, value.assumed) if t)
    for danger in book.dangers.values():
        yield danger.where, danger.never, FILLED
        yield from ((danger.where, t, nothing) for t in (danger.emergency, *danger.prepare))
    for sign in book.signs.values():
        yield from ((sign.where, t, nothing) for t in (sign.why, sign.caution))
    for told in talk(book):
        yield from ((told.where, t, nothing) for t in (told.answer, told.short))
    for stream in book.streams.values():
        yield from (
            (stream.where, t, nothing) for t in (stream.takes, stream.refuses, stream.becomes)
        )
    for goes in book.destinations.values():
        yield from ((goes.where, t, nothing) for t in (goes.phrase, goes.short))
    yield from (
        (book.fallback.where, t, nothing) for t in (book.fallback.why, *book.fallback.prepare)
    )


def placeholders(place: Place, text: str, known: frozenset[str], found: Findings) -> None:
    """Braces that nothing fills."""
    if "{" not in text and "}" not in text:
        return
    try:
        parts = [(n, s, c) for _, n, s, c in Formatter().parse(text) if n is not None]
    except ValueError:
        what = f"'{text[:40]}' has a brace without its partner"
        found.add(place, what, "Remove it; braces stand only around a word such as {item}")
        return
    allowed = " and ".join(f"{{{k}}}" for k in sorted(known)) or "none"
    for name, spec, conversion in parts:
        if name not in known or spec or conversion:
            shown = name + (f"!{conversion}" if conversion else "") + (f":{spec}" if spec else "")
            cure = f"Write the word itself (known here: {allowed})"
            found.add(place, f"nothing fills '{{{shown}}}' in '{text[:40]}'", cure)


def steps_of(book: Book) -> Iterator[tuple[Place, tuple[str, ...]]]:
    """Every list of steps."""
    for item in book.items.values():
        for table in tables_of(item):
            yield own_place(book, item, table, "prepare"), table.prepare or ()
            yield from ((row.where, row.prepare or ()) for row in table.rows)
    yield from ((d.where, d.prepare) for d in book.dangers.values())
    yield book.fallback.where, book.fallback.prepare


def one_step(place: Place, step: str, found: Findings) -> None:
    """A step is a whole sentence; half of one tells of a comma in a list in brackets."""
    cure = "A list in [...] splits at commas: write each step on its own line after a dash"
    if not step[:1].isupper():
        found.add(place, f"the step '{step}' does not start with a capital", cure)
    if not step.endswith("."):
        found.add(place, f"the step '{step}' does not end with a full stop", cure)


def reasons(item: Item, table: Table, found: Findings) -> None:
    """A reason and a source for every row (policy 8)."""
    for row in table.rows:
        if row.see:
            continue
        for name, text in (("why", row.why or table.why), ("source", row.source or table.source)):
            if not (text or "").strip():
                cure = f"Add '{name}:' to the row, the table or the item"
                found.add(row.where, f"a row without '{name}'", cure, item.id)


def names(book: Book, found: Findings) -> None:
    """Names that point to two items."""
    owners: dict[str, Item] = {}
    for item in book.items.values():
        for name in dict.fromkeys((item.name, *item.also)):
            key = name_key(name)
            owner = owners.setdefault(key, item)
            if not key:
                found.add(item.where, f"the name '{name}' has no letter", "Write it in letters")
            elif owner.id != item.id:
                what = f"'{name}' is a name of '{item.id}' and of '{owner.id}' ({owner.where})"
                cure = "Keep it in one, or make it an item of its own that asks which is meant"
                found.add(item.where, what, cure)


def reviews(book: Book, today: date, found: Findings) -> None:
    """Files not read through for more than a year, or reviewed in the future."""
    for file in book.files:
        if file.reviewed > today:
            what = f"reviewed on {file.reviewed}, which is after today ({today})"
            found.add(file.where, what, "Correct the date")
        elif file.reviewed < a_year_before(today):
            what = f"last reviewed on {file.reviewed}, over a year ago"
            found.add(file.where, what, f"{file.owner}: read it through and set a new date")


def a_year_before(day: date) -> date:
    """The same day of the year before; 28 February for 29."""
    if (day.month, day.day) == (2, 29):
        return date(day.year - 1, 2, 28)
    return day.replace(year=day.year - 1)


def unused(book: Book, found: Findings) -> None:
    """Conditions, values and shared tables that no item uses."""
    followed = {t.name for i in book.items.values() for t in tables_of(i)}
    for name, table in book.tables.items():
        if name not in followed:
            found.add(
                table.where, f"no item follows the table '{name}'", "Remove it", severity="warning"
            )
    tables = [t for i in book.items.values() for t in tables_of(i)]
    used = {c for t in tables for c in (*t.ask, *t.assume)}
    used |= {c for i in book.items.values() if i.mark for c in i.mark.gives}
    asked: dict[str, set[str]] = {}
    for table in tables:
        for c, values in table.ask.items():
            asked.setdefault(c, set()).update(values)
    told = {c for t in tables for c in t.assume}
    for name, condition in book.conditions.items():
        if name not in used:
            what = f"no table uses the condition '{name}'"
            found.add(condition.where, what, "Remove it", severity="warning")
        for value in condition.values if name in asked and name not in told else ():
            if value not in asked[name]:
                what = f"'{name}' is asked, but no question offers '{value}'"
                cure = "Add it under 'ask' in a table that needs it, or remove it"
                found.add(condition.where, what, cure)


def fits(place: Place, text: str, which: str, found: Findings, case: str = "") -> None:
    """A text that takes more than two text messages."""
    number = sms.parts(text)
    if number > PARTS:
        odd = sms.outside(text)
        cure = (
            f"Write '{odd}' in plain letters: each makes every message shorter"
            if odd
            else f"Make it shorter: {PARTS} hold {PARTS * sms.GSM[1]} plain letters"
        )
        found.add(
            place, f"{which} takes {number} text messages, {len(text)} characters", cure, case
        )


def joined(facts: Iterable[tuple[str, str]]) -> str:
    """Facts as a person reads them."""
    return ", ".join(f"{k}: {v}" for k, v in facts) or "no condition"
