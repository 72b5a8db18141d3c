"""The report: all figures for what was asked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bot.figures import change, counts, doubts, values, words
from bot.figures.figure import Figure, amount
from bot.figures.period import written
from bot.figures.query import Query
from bot.figures.traffic import Remarked, Source, Traffic, gathered
from rules.model import Book

FIGURES = (
    counts.days,
    counts.items,
    counts.kinds,
    counts.districts,
    doubts.bins,
    doubts.second,
    doubts.unknown,
    doubts.remarks,
)


@dataclass(frozen=True, slots=True)
class Report:
    """The figures of a query; `about` says in lines whose questions and which days they are of."""

    query: Query
    demo: bool
    others: int
    channels: tuple[str, ...]
    about: tuple[str, ...]
    figures: tuple[Figure, ...]
    book: str

    @property
    def empty(self) -> bool:
        """Whether nothing at all was asked or remarked."""
        return all(figure.chart is None for figure in self.figures)

    def csv(self) -> str:
        """All values as one CSV file."""
        period = self.query.period
        rows = (row for figure in self.figures for row in figure.values)
        return values.written(rows, period.start.isoformat(), period.end.isoformat(), self.demo)


def made(query: Query, book: Book, record: Source, remarks: Iterable[Remarked]) -> Report:
    """The report. Names and containers are those of the given book."""
    traffic = gathered(query, record, remarks)
    figures = [figure(book, traffic) for figure in FIGURES]
    if query.change:
        figures.append(change.shares(book, traffic, query.change))
        figures.append(change.items(book, traffic, query.change))
    return Report(
        query,
        traffic.demo,
        traffic.others,
        traffic.channels,
        tuple(about(book, query, traffic)),
        tuple(figures),
        book.version,
    )


def about(book: Book, query: Query, traffic: Traffic) -> list[str]:
    """Whose questions, and which days."""
    period = query.period
    lines = [
        f"{written(period.start)} to {written(period.end)}, both days included "
        f"({amount(len(period), 'day')}, UK time).",
        f"District: {words.district(book, query.district) if query.district else 'all'}. "
        f"Channel: {words.channel(query.channel) if query.channel else 'all'}.",
        "What an officer tries out as on another day is never counted.",
    ]
    if traffic.forgotten:
        lines.append(
            f"Of the messages, {traffic.forgotten:,} are of conversations that were forgotten: "
            "they still count, but their words are gone."
        )
    return lines
