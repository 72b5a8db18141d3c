"""Fits what was understood or remembered to the rule book in force.

A conversation may outlive a rule: an item, a condition or a district that was there at the last
message can be gone at the next.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from actions.state import State, Thing
from actions.understanding import Named, Understanding
from rules.model import DISTRICT, Book


def facts_known(book: Book, facts: Mapping[str, str]) -> dict[str, str]:
    """The facts whose condition and value the book has."""
    return {
        c: v
        for c, v in facts.items()
        if (c == DISTRICT and v in book.districts)
        or (c in book.conditions and v in book.conditions[c].values)
    }


def remembered(book: Book, state: State) -> State:
    """A memory without what the book no longer has."""

    def district(name: str | None) -> str | None:
        return name if name in book.districts else None

    def kept(things: tuple[Thing, ...]) -> tuple[Thing, ...]:
        return tuple(
            replace(
                t,
                facts=facts_known(book, t.facts),
                district=district(t.district),
                sign=t.sign if t.sign in book.signs else None,
            )
            for t in things
            if t.item is None or t.item in book.items
        )

    waiting = kept(state.waiting)
    known = state.condition in book.conditions or state.condition == DISTRICT
    asking = bool(known and waiting and waiting[0].item == state.waiting[0].item)
    return replace(
        state,
        waiting=waiting if asking else (),
        last=kept(state.last),
        condition=state.condition if asking else None,
        tries=state.tries if asking else 0,
        district=district(state.district),
    )


def understood(book: Book, u: Understanding) -> Understanding:
    """A message's understanding without what the book does not have."""

    def kept(things: tuple[Named, ...]) -> tuple[Named, ...]:
        return tuple(
            replace(t, facts=facts_known(book, t.facts))
            for t in things
            if t.item is None or t.item in book.items
        )

    return replace(
        u,
        things=kept(u.things),
        marks=kept(u.marks),
        facts=tuple(f for f in u.facts if facts_known(book, {f.condition: f.value})),
        signs=tuple(s for s in u.signs if s[0] in book.signs),
        districts=tuple(d for d in u.districts if d in book.districts),
        containers=tuple(c for c in u.containers if not c[1] or c[1] in book.districts),
        centres=tuple(c for c in u.centres if c in book.centres),
    )
