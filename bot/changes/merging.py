"""Makes a change again on a file that somebody else has changed meanwhile."""

from __future__ import annotations

import difflib

AROUND = 1
"""Lines beside a changed one that must still be as they were."""


class Clash(ValueError):
    """The same lines were changed twice."""


def merged(base: str, new: str, now: str) -> str:
    """The text `now` with the change that led from `base` to `new`.

    Raises `Clash` if a line of the change, or one beside it, is no longer as it was in `base`.
    """
    old_lines, lines = base.splitlines(True), new.splitlines(True)
    here = now.splitlines(True)
    kept: dict[int, int] = {}
    for a, b, size in blocks(old_lines, here):
        kept |= {a + k: b + k for k in range(size)}
    kept |= {-1: -1, len(old_lines): len(here)}
    edits = []
    for tag, i1, i2, j1, j2 in difflib.SequenceMatcher(None, old_lines, lines, False).get_opcodes():
        if tag == "equal":
            continue
        first, last = max(-1, i1 - AROUND), min(len(old_lines), i2 - 1 + AROUND)
        span = range(first, last + 1)
        places = [kept.get(k) for k in span]
        at = kept.get(first)
        if at is None or places != [at + k for k in range(len(span))]:
            raise Clash(f"line {i1 + 1} was changed by somebody else too")
        start = at + (i1 - first)
        edits.append((start, start + (i2 - i1), lines[j1:j2]))
    for start, end, put in reversed(edits):
        here[start:end] = put
    return "".join(here)


def blocks(a: list[str], b: list[str]) -> list[tuple[int, int, int]]:
    """The runs of lines that two texts share."""
    found = difflib.SequenceMatcher(None, a, b, False).get_matching_blocks()
    return [(m.a, m.b, m.size) for m in found]
