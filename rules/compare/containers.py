"""On which days a district's containers differ between two books."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from rules.compare.answers import View
from rules.compare.apart import Values
from rules.compare.runs import Calendar, Span, stretches
from rules.compare.words import Words, capital, when
from rules.model import Book


@dataclass(frozen=True, slots=True)
class ContainerChange:
    """What takes a stream in a district, on days on which the books differ; `None`: nothing."""

    district: str
    stream: str
    old: str | None
    new: str | None
    span: Span
    say: str


def container_changes(
    old: View, new: View, district: str, calendar: Calendar, words: Words
) -> Iterator[ContainerChange]:
    """The differences of one district, by stream."""
    for stream in words.streams:
        found: list[Values] = []
        key = "container", frozenset[tuple[str, str]]()
        for one, other in calendar.pairs:
            pair = (
                called(old.book, district, stream, one),
                called(new.book, district, stream, other),
            )
            found.append({key: pair} if pair[0] != pair[1] else {})
        for first, last, values in stretches(key, [day.get(key) for day in found]):
            if calendar.anchored and last + 1 < len(found):
                continue
            before, after = values[0]
            span = calendar.span(first, last)
            say = sentence(words, district, stream, before, after, span)
            yield ContainerChange(district, stream, before, after, span, say)


def called(book: Book, district: str, stream: str, day: date) -> str | None:
    """What the container for a stream is called."""
    if district not in book.districts:
        return None
    container = book.container(district, stream, day)
    return container.name if container else None


def sentence(
    words: Words, district: str, stream: str, old: str | None, new: str | None, span: Span
) -> str:
    """A difference as an officer reads it."""
    parts = [capital(words.streams[stream].name), words.where([district]), when(span)]
    start = ", ".join(p for p in parts if p)
    after = "no container" if new is None else f"the {new}"
    before = "none" if old is None else f"the {old}"
    return f"{start}: {after} instead of {before}."
