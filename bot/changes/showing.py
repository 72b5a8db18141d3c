"""A difference as rows to show: which line, what became of it, and which part of it."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from dataclasses import dataclass

from bot.changes.change import Change

HUNK = re.compile(r"@@ -(\d+)(?:,\d+)? \+(\d+)(?:,\d+)? @@")


@dataclass(frozen=True, slots=True)
class Row:
    """One line. `how` is same, gone, added or gap (lines left out); `parts` cut the text so that
    each second one is what differs from its counterpart."""

    how: str
    old: int | None
    new: int | None
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """The difference in one file. `what` says whether it is new, changed or taken away."""

    file: str
    what: str
    rows: tuple[Row, ...]
    added: int
    gone: int


def shown(change: Change) -> list[Shown]:
    """The difference of each file of a change."""
    found = []
    for path in sorted(change.files):
        rows = tuple(rows_of(list(change.diff_of(path))))
        what = "changed"
        if change.before[path] is None:
            what = "new"
        elif change.files[path] is None:
            what = "taken away"
        counts = [sum(r.how == how for r in rows) for how in ("added", "gone")]
        found.append(Shown(path, what, rows, *counts))
    return found


def rows_of(lines: list[str]) -> Iterator[Row]:
    """The rows of a unified diff."""
    old = new = 0
    first = True
    k = 0
    while k < len(lines):
        line = lines[k]
        hunk = HUNK.match(line)
        if hunk:
            if not first:
                yield Row("gap", None, None, ())
            first = False
            old, new = int(hunk[1]), int(hunk[2])
            k += 1
        elif first:
            k += 1
        elif line.startswith(" "):
            yield Row("same", old, new, (line[1:],))
            old, new, k = old + 1, new + 1, k + 1
        else:
            gone = run(lines, k, "-")
            added = run(lines, k + len(gone), "+")
            pairs = len(gone) == len(added)
            for n, text in enumerate(gone):
                parts = cut(text, added[n])[0] if pairs else (text,)
                yield Row("gone", old + n, None, parts)
            for n, text in enumerate(added):
                parts = cut(gone[n], text)[1] if pairs else (text,)
                yield Row("added", None, new + n, parts)
            old, new, k = old + len(gone), new + len(added), k + len(gone) + len(added)


def run(lines: list[str], start: int, sign: str) -> list[str]:
    """The lines from one on that begin with a sign."""
    found = []
    for line in lines[start:]:
        if not line.startswith(sign):
            break
        found.append(line[1:])
    return found


def cut(old: str, new: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Two lines cut where they differ, if most of them is the same."""
    matcher = difflib.SequenceMatcher(None, old, new, False)
    if matcher.quick_ratio() < 0.5:
        return (old,), (new,)
    front = next((k for k, (a, b) in enumerate(zip(old, new, strict=False)) if a != b), None)
    front = min(len(old), len(new)) if front is None else front
    back = 0
    while back < min(len(old), len(new)) - front and old[-1 - back] == new[-1 - back]:
        back += 1

    def parts(text: str) -> tuple[str, ...]:
        end = len(text) - back
        return text[:front], text[front:end], text[end:]

    return parts(old), parts(new)
