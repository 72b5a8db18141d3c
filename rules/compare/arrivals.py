"""Where an item goes that only the new book has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from rules.compare.answers import Goes, View
from rules.compare.cases import Case, boxes, without_usual
from rules.compare.runs import Calendar, Span
from rules.compare.sections import EntryChange
from rules.compare.words import Words, capital, listed, when


def arrived(
    change: EntryChange, view: View, districts: Sequence[str], calendar: Calendar, words: Words
) -> EntryChange:
    """The entry of a new item, with where it goes, in which district, and from when."""
    said = []
    days = [new for _, new in calendar.pairs]
    for names, texts in by_district(change.id, view, districts, days, words).items():
        for first, last, text in stretches(texts):
            span = calendar.span(first, last) if len(days) > 1 else Span()
            where = words.where([d for d in districts if d in names])
            said.append(f"{capital(', '.join(x for x in (where, when(span)) if x))}: {text}.")
    return replace(change, new=said, say=" ".join([change.say, *said]))


def by_district(
    item: str, view: View, districts: Sequence[str], days: Sequence[date], words: Words
) -> dict[tuple[str, ...], list[str]]:
    """Districts that say the same on every day, and what that is on each."""
    groups: dict[tuple[str, ...], list[str]] = {}
    for district in districts:
        texts = [outcomes(item, view, district, day, words) for day in days]
        alike: tuple[str, ...] = next((k for k, told in groups.items() if told == texts), ())
        groups.pop(alike, None)
        both = *alike, district
        groups[both] = texts
    return groups


def stretches(texts: Sequence[str]) -> list[tuple[int, int, str]]:
    """First and last of each row of equal texts."""
    starts = [n for n, text in enumerate(texts) if n == 0 or text != texts[n - 1]]
    ends = [*(n - 1 for n in starts[1:]), len(texts) - 1]
    return [(a, b, texts[a]) for a, b in zip(starts, ends, strict=True)]


def outcomes(item: str, view: View, district: str, day: date, words: Words) -> str:
    """Every place an item can go to on a day, each with its cases."""
    answers = view.answers(item, district, day)
    cases: dict[Goes, list[Case]] = {}
    for case, said in answers.items():
        cases.setdefault(said.goes, []).append(case)
    usual = view.usual(item, district)
    told = []
    for goes, found in cases.items():
        place = words.place(goes.code, (goes.container,) if goes.container else ())
        case_words = words.case(without_usual(boxes(found, list(answers)), usual))
        told.append(f"{place} ({case_words})" if case_words else place)
    return listed(told, "or")
