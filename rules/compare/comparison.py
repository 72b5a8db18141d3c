"""Which answers differ between two books, or between two days of one: for whom, and from when."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from rules.compare.answers import View
from rules.compare.arrivals import arrived
from rules.compare.containers import ContainerChange, container_changes
from rules.compare.data import as_json
from rules.compare.groups import AnswerChange, Ids, gathered
from rules.compare.names import item_changes, pairs_of
from rules.compare.runs import Calendar, Found, differences
from rules.compare.sections import EntryChange, entry_changes
from rules.compare.words import Words, capital
from rules.model import Book, Change


@dataclass(frozen=True, slots=True)
class Comparison:
    """All that differs between two books.

    `answers` are told once for all items that change alike. `entries` are what is not about the
    answer of one item. `announced` are the changes that a book announces between two days of its
    own. `old_on` and `new_on` are set if each book is taken as on one day, `since` if all days
    from that on are compared.
    """

    old: Book
    new: Book
    old_on: date | None
    new_on: date | None
    since: date | None
    containers: tuple[ContainerChange, ...]
    answers: tuple[AnswerChange, ...]
    entries: tuple[EntryChange, ...]
    announced: tuple[Change, ...]

    def __bool__(self) -> bool:
        """Whether anything differs."""
        return bool(self.containers or self.answers or self.entries)

    def lines(self) -> list[str]:
        """Every difference in plain words, one to a line; what goes with one is indented."""
        out = [one.say for one in self.containers]
        for change in self.answers:
            out.append(change.say)
            out += [f"  {capital(detail.differs)}" for detail in change.details]
        return [*out, *(one.say for one in self.entries)]

    def to_json(self) -> dict[str, Any]:
        """The same for programs, as `rules/comparison.schema.json` describes it."""
        return as_json(self)


def compare(
    old: Book,
    new: Book,
    *,
    old_on: date | None = None,
    new_on: date | None = None,
    since: date | None = None,
    district: str | None = None,
    item: str | None = None,
) -> Comparison:
    """Compare two books that `check` passes.

    With a day, each book is taken as on its day (one day named is meant for both). Without, they
    are compared on every day from `since` (today, if it is not given) on which an answer of either
    can change. `district` and `item` (an id in either book) leave out all others.

    Raises `RuleGap` or `KeyError` for a book that `check` refuses.
    """
    before, after = old_on or new_on, new_on or old_on
    start = since or date.today()
    one_day = before is not None and after is not None
    calendar = two_days(old, new, before, after) if before and after else every_day(old, new, start)
    views = View(old), View(new)
    words = Words(old, new)
    pairs = pairs_of(old, new)
    chosen = [p for p in pairs if item is None or item in p]
    both = [d for d in new.districts if d in old.districts and district in (None, d)]
    return Comparison(
        old=old,
        new=new,
        old_on=before,
        new_on=after,
        since=None if one_day else start,
        containers=tuple(
            change
            for d in (both if item is None else ())
            for change in container_changes(*views, d, calendar, words)
        ),
        answers=gathered(differing(views, chosen, both, district is None, calendar), words),
        entries=tuple(entries(views, pairs, chosen, item, both, calendar, words)),
        announced=tuple(
            c
            for c in new.changes.values()
            if calendar.anchored
            and calendar.first < c.on <= calendar.last
            and district in (None, *c.districts)
        ),
    )


def every_day(old: Book, new: Book, start: date) -> Calendar:
    """Every day from one on, on which an answer of either book can change, against itself."""
    turns = {d for d in (*old.turning_days(), *new.turning_days()) if d > start}
    return Calendar(tuple((d, d) for d in (start, *sorted(turns))), dated=True)


def two_days(old: Book, new: Book, before: date, after: date) -> Calendar:
    """One day against another. Of one book, the days between tell from when each difference is."""
    if old.version != new.version or before >= after:
        return Calendar(((before, after),), dated=False)
    turns = [d for d in new.turning_days() if before < d <= after] or [after]
    return Calendar(tuple((before, d) for d in turns), dated=True, anchored=True)


def differing(
    views: tuple[View, View],
    pairs: Sequence[Ids],
    districts: Sequence[str],
    unnamed: bool,
    calendar: Calendar,
) -> Iterator[tuple[Ids, str, list[Found]]]:
    """Each item that differs, with its name and in what; `unnamed`: without a district, too."""
    places: list[str | None] = [*districts, *([None] if unnamed and districts else [])]
    for ids in pairs:
        found = [f for d in places for f in differences(*views, ids, d, calendar)]
        if found:
            yield ids, views[1].book.items[ids[1]].name, found


def entries(
    views: tuple[View, View],
    pairs: Sequence[Ids],
    chosen: Sequence[Ids],
    item: str | None,
    districts: Sequence[str],
    calendar: Calendar,
    words: Words,
) -> Iterator[EntryChange]:
    """What differs beside the answers, or of one item only its names."""
    old, new = views[0].book, views[1].book
    if old.version == new.version:
        return
    ids = {item, *(i for pair in chosen for i in pair)}
    for change in item_changes(old, new, pairs):
        if item is None or change.id in ids:
            if change.what == "came":
                yield arrived(change, views[1], districts, calendar, words)
            else:
                yield change
    if item is None:
        yield from entry_changes(old, new)
