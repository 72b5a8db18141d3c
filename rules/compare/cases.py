"""Sets of facts, told as the few cases that a person can read."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

Case = frozenset[tuple[str, str]]
"""Conditions and their values: what a resident may have said."""

Box = tuple[tuple[str, tuple[str, ...]], ...]
"""Conditions and the values each may have, both in order. The empty box holds every case."""


def boxes(chosen: Collection[Case], every: Collection[Case]) -> tuple[Box, ...]:
    """The fewest boxes found that hold all chosen cases and none of the others.

    `every` are all cases there are, the chosen ones among them.
    """
    if len(chosen) == len(every):
        return ((),)
    others = [dict(case) for case in every if case not in chosen]
    found: set[Box] = {tuple((c, (v,)) for c, v in sorted(case)) for case in chosen}
    before: set[Box] = set()
    while found != before:
        before = found
        found = merged({wider(box, others) for box in found})
    return tuple(sorted(box for box in found if not any(inside(box, o) for o in found)))


def wider(box: Box, others: Iterable[Mapping[str, str]]) -> Box:
    """A box without the conditions that keep none of the other cases out."""
    for condition, values in box:
        less = tuple(x for x in box if x != (condition, values))
        if not any(meets(less, other) for other in others):
            box = less
    return box


def merged(found: Collection[Box]) -> set[Box]:
    """Boxes that differ in the values of one condition, made one."""
    out = set(found)
    for condition in sorted({c for box in found for c, _ in box}):
        rest: dict[Box, set[str]] = {}
        for box in sorted(out):
            told = dict(box)
            if condition in told:
                values = told.pop(condition)
                rest.setdefault(tuple(told.items()), set()).update(values)
        out = {box for box in out if condition not in dict(box)}
        for less, every in rest.items():
            out.add(tuple(sorted([*less, (condition, tuple(sorted(every)))])))
    return out


def meets(box: Box, case: Mapping[str, str]) -> bool:
    """Whether nothing keeps a case out of a box. What a case does not tell may be anything."""
    return all(c not in case or case[c] in values for c, values in box)


def inside(box: Box, other: Box) -> bool:
    """Whether a box lies in another one."""
    told = dict(box)
    return box != other and all(c in told and set(told[c]) <= set(vs) for c, vs in other)


def without_usual(found: tuple[Box, ...], usual: Mapping[str, str]) -> tuple[Box, ...]:
    """Boxes without the conditions under which what is taken as given is among the values, unless
    that would hide the difference between boxes."""
    less = tuple(
        tuple((c, values) for c, values in box if usual.get(c) not in values) for box in found
    )
    return less if len(found) == 1 or () not in less else found
