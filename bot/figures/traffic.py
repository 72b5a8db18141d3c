"""The turns, things, second questions and remarks that a report counts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from sys import intern
from typing import Any, Protocol

from bot.figures.follow import Part, Second, Turn, code, followed
from bot.figures.period import ONE, Period, day_of
from bot.figures.query import Query

PREVIEW = "preview"
"""The channel of an officer who tries the assistant out: never counted."""


WEEK = timedelta(days=7)
FAILED = "failed"
"""The kind of a turn in which the program gave no answer; the record has it as a fault."""


class Row(Protocol):
    """A row of the record, as far as figures need it."""

    @property
    def at(self) -> str: ...
    @property
    def conversation(self) -> str | None: ...
    @property
    def channel(self) -> str: ...
    @property
    def demo(self) -> bool: ...
    @property
    def district(self) -> str | None: ...
    @property
    def on(self) -> str | None: ...
    @property
    def kind(self) -> str: ...
    @property
    def items(self) -> list[dict[str, Any]]: ...
    @property
    def asks(self) -> dict[str, Any] | None: ...
    @property
    def meant(self) -> list[str]: ...
    @property
    def fault(self) -> str | None: ...


class Source(Protocol):
    """The record, as far as figures need it."""

    def between(self, start: date, end: date, demo: bool | None = None) -> Sequence[Row]: ...
    def of(self, conversation: str) -> Sequence[Row]: ...


class Remarked(Protocol):
    """A remark, as far as figures need it."""

    @property
    def at(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def channel(self) -> str: ...
    @property
    def conversation(self) -> str: ...
    @property
    def district(self) -> str | None: ...


@dataclass(frozen=True, slots=True)
class Thing:
    """A thing that was told where it goes. `meant` are the containers named with it, before the
    assistant's question or after."""

    day: date
    channel: str
    district: str | None
    kind: str
    item: str | None
    said: str
    destination: str
    alternatives: tuple[str, ...]
    on: str | None
    meant: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Said:
    """A remark on an answer."""

    day: date
    channel: str
    district: str | None
    kind: str


@dataclass(frozen=True, slots=True)
class Traffic:
    """All that is counted. `demo` tells whose it is, `others` how many turns of the other sort
    the period has, `forgotten` how many turns' conversations were forgotten, `channels` which
    channels the period has."""

    period: Period
    demo: bool
    turns: list[Turn]
    things: list[Thing]
    second: list[Second]
    remarks: list[Said]
    others: int = 0
    forgotten: int = 0
    channels: tuple[str, ...] = ()

    def within(self, period: Period) -> Traffic:
        """The part of some days."""
        return replace(
            self,
            period=period,
            turns=[t for t in self.turns if t.day in period],
            things=[t for t in self.things if t.day in period],
            second=[s for s in self.second if s.day in period],
            remarks=[r for r in self.remarks if r.day in period],
        )


def gathered(query: Query, record: Source, remarks: Iterable[Remarked]) -> Traffic:
    """What a query is about.

    A day more is read at either end: days here are the UK's, the record's are UTC's, and a question
    of the last evening may be settled after midnight.
    """
    period = query.period
    turns = list(read(record, Period(period.start - ONE, period.end + ONE)))
    sort = {t.conversation: t.demo for t in turns if t.conversation}
    real = sum(t.day in period and not t.demo for t in turns)
    other = sum(t.day in period and t.demo for t in turns)
    demo = query.demo if query.demo is not None else bool(other and not real)
    turns = [t for t in turns if t.demo == demo]
    second = followed(turns)
    wanted = [t for t in turns if t.day in period and fits(query, t)]
    return Traffic(
        period,
        demo,
        wanted,
        [thing for t in wanted for thing in told(t)],
        [s for s in second if s.day in period and fits(query, s)],
        heard(query, record, remarks, demo, sort),
        real if demo else other,
        sum(t.conversation is None for t in wanted),
        tuple(sorted({t.channel for t in turns if t.day in period})),
    )


def read(record: Source, period: Period) -> Iterator[Turn]:
    """The turns of a period of UTC days, a week at a time, since the record's rows are large."""
    start = period.start
    while start <= period.end:
        end = min(start + WEEK - ONE, period.end)
        for row in record.between(start, end):
            if row.channel != PREVIEW:
                yield turn(row)
        start = end + ONE


def fits(query: Query, row: Any) -> bool:
    """Whether something is of the district and channel asked for."""
    return query.district in (None, row.district) and query.channel in (None, row.channel)


def turn(row: Row) -> Turn:
    """A row of the record on its UK day."""
    return Turn(
        day_of(row.at),
        row.conversation,
        intern(row.channel),
        row.demo,
        code(row.district),
        code(row.on),
        FAILED if row.fault == FAILED else intern(row.kind),
        tuple(Part.of(item) for item in row.items),
        row.asks,
        tuple(map(intern, row.meant or ())),
    )


def told(turn: Turn) -> Iterable[Thing]:
    """The things of a turn that were told where they go."""
    for part in turn.items:
        if part.destination is None:
            continue
        yield Thing(
            turn.day,
            turn.channel,
            turn.district,
            turn.kind,
            part.item,
            part.said,
            part.destination,
            part.alternatives,
            turn.on,
            turn.meant or part.before,
        )


def heard(
    query: Query, record: Source, remarks: Iterable[Remarked], demo: bool, sort: dict[str, bool]
) -> list[Said]:
    """The remarks of the period. One is the demo's if its conversation is; `sort` has those of
    the period and is added to."""
    found = []
    for remark in remarks:
        day = day_of(remark.at)
        if day not in query.period or remark.channel == PREVIEW or not fits(query, remark):
            continue
        if remark.conversation not in sort:
            of = record.of(remark.conversation) if remark.conversation else ()
            sort[remark.conversation] = bool(of) and of[0].demo
        if sort[remark.conversation] == demo:
            found.append(Said(day, remark.channel, remark.district, remark.kind))
    return found
