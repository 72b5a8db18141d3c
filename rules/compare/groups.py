"""Differences of many items, gathered so that a person can read them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from rules.compare.apart import plain
from rules.compare.cases import Box
from rules.compare.runs import ASPECTS, Found, Span
from rules.compare.words import Words, capital, ended, listed, told, when

Ids = tuple[str, str]
"""An item's id in the old and in the new book."""

PLACES = ("goes", "container")
"""Aspects that other differences of the same items are told with."""
SPREAD = (*PLACES, "careful")
"""Aspects whose values are told with their districts, not each district by itself."""


@dataclass(frozen=True, slots=True)
class Affected:
    """An item, in which cases a person would say (none: as usual), and what differs in each
    district. `case` is the cases in words."""

    ids: Ids
    name: str
    cases: tuple[Box, ...]
    found: tuple[Found, ...]
    case: str = ""

    @property
    def said(self) -> str:
        """Its name with its cases."""
        return f"{self.name} ({self.case})" if self.case else self.name


@dataclass(frozen=True, slots=True)
class AnswerChange:
    """One way in which answers differ: for which items, where, when, from what to what.

    `districts` holds `None` for somebody whose district is not known. `details` are what else
    differs for the same items, in the same districts, cases and days. `say` tells it in a
    sentence: `who` names the items, `days` from when, `differs` what differs. `rows` is the same
    as a table: where, before, after.
    """

    aspect: str
    items: tuple[Affected, ...]
    districts: tuple[str | None, ...]
    span: Span
    say: str = ""
    who: str = ""
    days: str = ""
    differs: str = ""
    rows: tuple[tuple[str, str | None, str | None], ...] = ()
    details: tuple[AnswerChange, ...] = ()


def gathered(
    differences: Iterable[tuple[Ids, str, Sequence[Found]]], words: Words
) -> tuple[AnswerChange, ...]:
    """Changes in order, from all that differs for each item (with its name)."""
    groups: dict[Any, list[Affected]] = {}
    for ids, name, found in differences:
        for same in by_district(found):
            key = same[0].aspect, same[0].span, tuple(map(value_of, same))
            case = words.case(same[0].told)
            item = Affected(ids, name, same[0].told, tuple(same), case)
            groups.setdefault(key, []).append(item)
    made = [change(items, words) for items in groups.values()]
    return tuple(nested(sorted(made, key=order)))


def by_district(found: Sequence[Found]) -> list[list[Found]]:
    """An item's differences, those that are alike but for the district together."""
    groups: dict[Any, list[Found]] = {}
    for one in found:
        key = one.aspect, one.span, one.told, one.district is None
        alike = groups.setdefault(key, [])
        # A district has one of each; another one is told apart.
        if any(o.district == one.district for o in alike):
            apart = *key, one.exact
            groups[apart] = [one]
        else:
            alike.append(one)
    return list(groups.values())


def value_of(found: Found) -> Any:
    """What has to be the same for two items to be told together."""
    return found.district, plain(found.old), plain(found.new), found.names


def order(one: AnswerChange) -> Any:
    """The earliest and the weightiest first."""
    start = one.span.start.toordinal() if one.span.start else 0
    names = tuple(i.name for i in one.items)
    return start, ASPECTS.index(one.aspect), -len(one.items), names, one.say


def nested(changes: Sequence[AnswerChange]) -> list[AnswerChange]:
    """Changes of what is said beside a place, put under the change of the place itself."""
    heads: dict[Any, int] = {}
    out: list[AnswerChange] = []
    for one in changes:
        if one.aspect in PLACES:
            heads.setdefault(scope(one), len(out))
            out.append(one)
    for one in changes:
        at = heads.get(scope(one))
        if one.aspect in PLACES:
            continue
        if at is None:
            out.append(one)
        else:
            out[at] = replace(out[at], details=(*out[at].details, one))
    return sorted(out, key=order)


def scope(one: AnswerChange) -> Any:
    """Items with their cases, districts and days."""
    return tuple((i.ids, i.cases) for i in one.items), one.districts, one.span


def change(items: Sequence[Affected], words: Words) -> AnswerChange:
    """A change with its sentence. Items that change in every usual case come first."""
    found = items[0].found
    ordered = tuple(sorted(items, key=lambda i: (bool(i.case), i.name.lower(), i.ids)))
    made = AnswerChange(found[0].aspect, ordered, tuple(f.district for f in found), found[0].span)
    made = replace(
        made,
        who=who(made, words),
        days=when(made.span),
        differs=ended(difference(made, words)),
        rows=rows(made, words),
    )
    about = ", ".join(x for x in (made.who, words.where(made.districts), made.days) if x)
    return replace(made, say=f"{about}: {made.differs}")


def who(one: AnswerChange, words: Words) -> str:
    """Which items, with the cases in which they differ."""
    case = one.items[0].case
    if any(item.case != case for item in one.items):
        return words.items([item.said for item in one.items])
    return words.items([item.name for item in one.items]) + (f" ({case})" if case else "")


def difference(one: AnswerChange, words: Words) -> str:
    """From what to what, the districts apart only where they differ."""
    found = one.items[0].found
    pairs = [values(one, f, words) for f in found]
    if one.aspect in SPREAD and None not in {v for pair in pairs for v in pair}:
        old, new = (spread(found, [str(p[n]) for p in pairs], words) for n in (0, 1))
        return told(one.aspect, old, new)
    texts: dict[str, list[str]] = {}
    for f, pair in zip(found, pairs, strict=True):
        place = words.places.get(f.district or "", "")
        texts.setdefault(told(one.aspect, *pair), []).append(place)
    if len(texts) == 1:
        return next(iter(texts))
    return "; ".join(f"in {listed(districts)} {text}" for text, districts in texts.items())


def rows(one: AnswerChange, words: Words) -> tuple[tuple[str, str | None, str | None], ...]:
    """Districts with the same values, with what was said and what is said now."""
    groups: dict[tuple[str | None, str | None], list[str | None]] = {}
    for found in one.items[0].found:
        groups.setdefault(values(one, found, words), []).append(found.district)
    return tuple((capital(words.where(where)), *pair) for pair, where in groups.items())


def spread(found: Sequence[Found], texts: Sequence[str], words: Words) -> str:
    """One text, or each with its districts."""
    groups: dict[str, list[str]] = {}
    for one, text in zip(found, texts, strict=True):
        groups.setdefault(text, []).append(words.places[one.district or ""])
    if len(groups) == 1:
        return texts[0]
    return listed((f"{text} ({listed(places)})" for text, places in groups.items()), "or")


def values(one: AnswerChange, found: Found, words: Words) -> tuple[str | None, str | None]:
    """The old and the new value in words."""
    fill = filling(one, found)
    return (
        words.value(one.aspect, found.old, found.names[0], fill),
        words.value(one.aspect, found.new, found.names[1], fill),
    )


def filling(one: AnswerChange, found: Found) -> Mapping[str, str]:
    """What the placeholders of a text stand for, where that is one thing."""
    names = found.names[1] or found.names[0]
    return {
        "item": one.items[0].name if len(one.items) == 1 else "item",
        "container": names[0] if len(names) == 1 else "container",
    }
