"""Where the answers about one item differ between two books, in which cases and on which days."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from rules.compare.answers import Goes, View
from rules.compare.apart import Values, apart, asked_apart, joined, plain, steps_apart
from rules.compare.cases import Box, Case, boxes, without_usual

Days = tuple[date, date]
"""A day of the old book and the day of the new one to compare it with."""

ASPECTS = (
    "goes",
    "container",
    "others",
    "question",
    "careful",
    "assumed",
    "prepare",
    "caution",
    "why",
    "source",
)
"""What of an answer can differ, in the order it is told: where it goes (another code), what the
container is called (the same code), other destinations, the question put, the careful answer to who
cannot tell, what is taken as given, and the texts."""


@dataclass(frozen=True, slots=True)
class Span:
    """Days on which something differs, both ends included; `None`: not known, or for good."""

    start: date | None = None
    end: date | None = None


@dataclass(frozen=True, slots=True)
class Calendar:
    """The pairs of days to compare. `anchored`: one book on two days, so that a difference counts
    only if it is there on the last, and dates from the day since which it is."""

    pairs: tuple[Days, ...]
    dated: bool
    anchored: bool = False

    @property
    def first(self) -> date:
        """The earliest day."""
        return min(self.pairs[0])

    @property
    def last(self) -> date:
        """The latest day."""
        return max(self.pairs[-1])

    def span(self, first: int, last: int) -> Span:
        """The days from one pair to another."""
        if not self.dated:
            return Span()
        start = self.pairs[first][1]
        if last + 1 == len(self.pairs):
            return Span(start)
        return Span(start, self.pairs[last + 1][1] - timedelta(days=1))


@dataclass(frozen=True, slots=True)
class Found:
    """One aspect that differs for an item in a district (`None`: not said) in some cases.

    `old` or `new` is `None` where that book has no such case, question or text. `exact` are the
    cases in full, `told` without what is taken as given. `names` are what the containers are
    called on these days, old and new.
    """

    aspect: str
    district: str | None
    old: Any
    new: Any
    span: Span
    exact: tuple[Box, ...]
    told: tuple[Box, ...]
    names: tuple[tuple[str, ...], tuple[str, ...]] = ((), ())


def differences(
    old: View, new: View, ids: tuple[str, str], district: str | None, calendar: Calendar
) -> Iterator[Found]:
    """All that differs for an item, which has an id in each book."""
    found: list[Values] = []
    every: list[set[Case]] = []
    known: list[tuple[Any, Any, Values, set[Case]]] = []
    for days in calendar.pairs:
        marks = mark(old, ids[0], district, days[0]), mark(new, ids[1], district, days[1])
        if marks[0] == marks[1]:
            found.append({})
            every.append(set())
            continue
        same = next((k for k in known if (k[0], k[1]) == marks), None)
        if same is None:
            values, cases = differing(old, new, ids, district, days)
            same = (*marks, values, cases)
            known.append(same)
        found.append(same[2])
        every.append(same[3])
    if any(found):
        usual = {**usual_of(old, ids[0], district), **usual_of(new, ids[1], district)}
        yield from runs(found, every, usual, district, calendar)


def mark(view: View, item: str, district: str | None, day: date) -> Any:
    """The mark of an item; without a district, those of all districts."""
    if district is not None:
        return view.mark(item, district, day)
    return tuple((d, view.mark(item, d, day)) for d in view.book.districts)


def usual_of(view: View, item: str, district: str | None) -> dict[str, str]:
    """What a book takes as given of an item."""
    return view.usual(item, district) if district is not None else {}


def differing(
    old: View, new: View, ids: tuple[str, str], district: str | None, days: Days
) -> tuple[Values, set[Case]]:
    """What differs on one pair of days, and every case there is."""
    out: Values = {}
    if district is None:
        before, after = old.asks_district(ids[0], days[0]), new.asks_district(ids[1], days[1])
        for aspect, *values in steps_apart(before, after):
            out[aspect, frozenset()] = (values[0], values[1])
        return out, {frozenset()}
    pairs = joined(old.answers(ids[0], district, days[0]), new.answers(ids[1], district, days[1]))
    for case, one, other in pairs:
        one = one or old.answer(ids[0], district, days[0], case)
        other = other or new.answer(ids[1], district, days[1], case)
        for aspect, *values in apart(one, other):
            out[aspect, case] = (values[0], values[1])
    cases = {case for case, _, _ in pairs}
    if old.mark(ids[0], district, days[0]).shape == new.mark(ids[1], district, days[1]).shape:
        return out, cases
    starts = old.starts(ids[0], district, days[0]) | new.starts(ids[1], district, days[1])
    before_steps = old.steps(ids[0], district, days[0], starts)
    after_steps = new.steps(ids[1], district, days[1], starts)
    return {**out, **asked_apart(before_steps, after_steps)}, cases


def runs(
    found: Sequence[Values],
    every: Sequence[set[Case]],
    usual: Mapping[str, str],
    district: str | None,
    calendar: Calendar,
) -> Iterator[Found]:
    """Differences that stay the same over days in a row, made one, and their cases told."""
    groups: dict[Any, dict[Case, list[tuple[Any, Any]]]] = {}
    for key in sorted({k for day in found for k in day}, key=lambda k: (k[0], sorted(k[1]))):
        for first, last, values in stretches(key, [day.get(key) for day in found]):
            if calendar.anchored and last + 1 < len(found):
                continue
            group = groups.setdefault((key[0], first, last, same(key[0], values[0])), {})
            group[key[1]] = values
    for (aspect, first, last, _), cases in groups.items():
        values = [v for told in cases.values() for v in told]
        exact: tuple[Box, ...]
        if aspect in ("question", "careful", "assumed"):
            exact = tuple(sorted(tuple((c, (v,)) for c, v in sorted(k)) for k in cases))
        else:
            exact = boxes(list(cases), every[first] | set(cases))
        yield Found(
            aspect=aspect,
            district=district,
            old=values[0][0],
            new=values[0][1],
            span=calendar.span(first, last),
            exact=exact,
            told=without_usual(exact, usual),
            names=(named(v[0] for v in values), named(v[1] for v in values)),
        )


def stretches(
    key: tuple[str, Case], values: Sequence[tuple[Any, Any] | None]
) -> Iterator[tuple[int, int, list[tuple[Any, Any]]]]:
    """First and last day, and the values, of each row of days with one difference."""
    at = 0
    while at < len(values):
        start, value = at, values[at]
        at += 1
        if value is None:
            continue
        told = [value]
        while at < len(values) and (more := values[at]) is not None:
            if same(key[0], more) != same(key[0], value):
                break
            told.append(more)
            at += 1
        yield start, at - 1, told


def same(aspect: str, values: tuple[Any, Any]) -> Any:
    """What makes two differences one."""
    return values if aspect == "container" else (plain(values[0]), plain(values[1]))


def named(values: Iterator[Any]) -> tuple[str, ...]:
    """The containers' names among values, each once."""
    names = (v.container for v in values if isinstance(v, Goes) and v.container)
    return tuple(dict.fromkeys(names))
