"""In what the answers and questions of two books differ, case by case."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from rules.compare.answers import Goes, Said, Step
from rules.compare.cases import Case

Values = dict[tuple[str, Case], tuple[Any, Any]]
"""What differs on a pair of days: old and new value by aspect and case."""


def joined(
    old: Mapping[Case, Said], new: Mapping[Case, Said]
) -> list[tuple[Case, Said | None, Said | None]]:
    """Each case of either book with what both say in it.

    Where one book looks at more conditions than the other, its cases are finer. A case the other
    book cannot have, because of a value it does not know, stands alone.
    """
    out: list[tuple[Case, Said | None, Said | None]] = []
    rest = {}
    for case, said in old.items():
        if case in new:
            out.append((case, said, new[case]))
        else:
            rest[case] = said
    left = {case: said for case, said in new.items() if case not in old}
    paired: set[Case] = set()
    for case, said in rest.items():
        told = dict(case)
        found = [c for c in left if all(told.get(k, v) == v for k, v in c)]
        paired.update(found)
        out += [(case | c, said, left[c]) for c in found] or [(case, said, None)]
    out += [(case, None, said) for case, said in left.items() if case not in paired]
    return out


def apart(one: Said | None, other: Said | None) -> Iterator[tuple[str, Any, Any]]:
    """The aspects in which two answers differ."""
    if one is None or other is None:
        yield "goes", one and one.goes, other and other.goes
        return
    if one.goes.code != other.goes.code:
        yield "goes", one.goes, other.goes
    elif one.goes != other.goes:
        yield "container", one.goes, other.goes
    for aspect in ("others", "prepare", "caution", "why", "source"):
        values = getattr(one, aspect), getattr(other, aspect)
        if values[0] != values[1]:
            yield aspect, values[0] or None, values[1] or None


def asked_apart(old: Mapping[Case, Step], new: Mapping[Case, Step]) -> Values:
    """Where the questions differ. What follows from a difference told already is left out."""
    out: Values = {}
    for case in sorted({*old, *new}, key=lambda c: (len(c), sorted(c))):
        before, after = old.get(case), new.get(case)
        if before is None or after is None:
            continue  # it hangs on a question that differs, which is told
        for aspect, *values in steps_apart(before, after):
            told = (values[0], values[1])
            if not any(out.get((aspect, less)) == told for less in parts_of(case, old)):
                out[aspect, case] = told
    return out


def parts_of(case: Case, steps: Mapping[Case, Step]) -> Iterator[Case]:
    """The cases in which less was said."""
    return (less for less in steps if less < case)


def steps_apart(before: Step, after: Step) -> Iterator[tuple[str, Any, Any]]:
    """In what two steps differ."""
    if (before.condition, before.values) != (after.condition, after.values):
        yield "question", asked(before), asked(after)
    elif plain(before.careful) != plain(after.careful):
        yield "careful", before.careful, after.careful
    if before.assumed != after.assumed and not before.condition and not after.condition:
        yield "assumed", before.assumed or None, after.assumed or None


def asked(step: Step) -> tuple[str, tuple[str, ...]] | None:
    """The question of a step, if it has one."""
    return (step.condition, step.values) if step.condition else None


def plain(value: Any) -> Any:
    """A value by which differences on several days are one: a code, whatever its container."""
    return value.code if isinstance(value, Goes) else value
