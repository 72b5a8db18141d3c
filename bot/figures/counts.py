"""How much is asked: by day and channel, by kind of reply, by district, by thing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date, timedelta

from bot.figures import words
from bot.figures.definitions import KNOWN, MESSAGE, TOLD, of_kind
from bot.figures.figure import Bars, Column, Columns, Figure, amount, percent
from bot.figures.traffic import FAILED, Traffic
from rules.model import Book

MOST = 20
"""Rows of a table of the most frequent things; the file has all of them."""
CHARTED = 12
SERIES = 5
"""Series of a chart that a reader can tell apart; what is beyond them is drawn as one."""
BY_WEEK = 62
"""A period longer than this is drawn and listed by week."""


def by_frequency(counter: Counter[str]) -> list[str]:
    """Names, the most frequent first, equal ones in order of the alphabet."""
    return sorted(counter, key=lambda name: (-counter[name], name))


def days(book: Book, traffic: Traffic) -> Figure:
    """Questions by day and channel."""
    messages = MESSAGE.among(traffic.turns)
    count: Counter[tuple[date, str]] = Counter((t.day, t.channel) for t in messages)
    totals: Counter[str] = Counter(t.channel for t in messages)
    channels = by_frequency(totals)
    spans = list(steps(traffic))
    rows = []
    for label, inside in spans:
        each = [sum(count[d, c] for d in inside) for c in channels]
        rows.append((label, *each, sum(each)))
    busiest = max(rows, key=lambda row: int(row[-1]), default=None)
    summary = amount(len(messages), "message") + f" in {amount(len(traffic.period), 'day')}."
    if messages and busiest:
        step = "Week from " if len(traffic.period) > BY_WEEK else ""
        summary += f" Most: {step}{busiest[0]}, {busiest[-1]:,}."
    return Figure(
        "days",
        "Questions by day and channel",
        MESSAGE.says,
        summary,
        (
            Column("Week from" if len(traffic.period) > BY_WEEK else "Day", "day"),
            *(Column(words.channel(c)) for c in channels),
            Column("All"),
        ),
        tuple(rows),
        columns_of(rows, channels) if messages else None,
        tuple(
            {"figure": "days", "measure": "messages", "day": d.isoformat(), "channel": c}
            | {"value": count[d, c]}
            for d in traffic.period
            for c in channels
        ),
        len(rows),
        long=len(rows) > 14,
    )


def steps(traffic: Traffic) -> Iterable[tuple[str, list[date]]]:
    """The rows of the figure by day: days, or weeks from Monday where they are many."""
    period = list(traffic.period)
    if len(period) <= BY_WEEK:
        return [(f"{d.day} {d:%b}", [d]) for d in period]
    weeks: dict[date, list[date]] = {}
    for day in period:
        weeks.setdefault(day - timedelta(days=day.weekday()), []).append(day)
    return [(f"{d[0].day} {d[0]:%b %Y}", d) for d in weeks.values()]


def columns_of(rows: list[tuple[object, ...]], channels: list[str]) -> Columns:
    """The chart by day, small channels put together."""
    shown = len(channels) if len(channels) <= SERIES else SERIES - 1
    series = [
        (words.channel(c), tuple(int(str(row[n + 1])) for row in rows))
        for n, c in enumerate(channels[:shown])
    ]
    if shown < len(channels):
        rest = tuple(sum(int(str(v)) for v in row[shown + 1 : -1]) for row in rows)
        series.append(("Other channels", rest))
    return Columns(tuple(str(row[0]) for row in rows), tuple(series), "messages")


def kinds(book: Book, traffic: Traffic) -> Figure:
    """Shares of the kinds of reply."""
    messages = MESSAGE.among(traffic.turns)
    found = {k: len(of_kind(k).among(messages)) for k in (*words.KINDS, words.OTHER)}
    found = {k: n for k, n in found.items() if n or k not in (words.OTHER, FAILED)}
    whole = len(messages)
    rows = tuple((words.kind(k), n, n / whole if whole else None) for k, n in found.items())
    small = len(traffic.turns) - whole
    return Figure(
        "kinds",
        "What kind of reply people got",
        MESSAGE.says + " Each has one kind of reply; so the shares add up to 100%.",
        said_of_kinds(found, whole),
        (Column("Reply", "text"), Column("Messages"), Column("Share", "share")),
        rows,
        Bars(
            tuple(str(r[0]) for r in rows),
            (("Messages", tuple(float(r[2] or 0) for r in rows)),),
            tuple(f"{percent(r[2] or 0)} ({r[1]:,})" for r in rows),
            "share of messages",
        )
        if whole
        else None,
        tuple(
            {"figure": "kinds", "measure": measure, "kind": k, "value": value, "of": of}
            for k, n in found.items()
            for measure, value, of in (
                ("messages", n, ""),
                *([("share", n / whole, whole)] if whole else []),
            )
        ),
        len(rows),
        notes=(f"Greetings, thanks and goodbyes left out: {small:,}.",),
    )


def said_of_kinds(found: dict[str, int], whole: int) -> str:
    """The main thing of the kinds."""
    if not whole:
        return "No messages."
    first = max(found, key=lambda k: found[k])
    careful = found["cautious"] / whole
    return (
        f"The most frequent: {words.kind(first).lower()}, {percent(found[first] / whole)}. "
        f"A careful answer: {percent(careful)}."
    )


def districts(book: Book, traffic: Traffic) -> Figure:
    """Messages and kinds of reply by district."""
    messages = MESSAGE.among(traffic.turns)
    count: Counter[str] = Counter(t.district or words.NOWHERE for t in messages)
    each: Counter[tuple[str, str]] = Counter(
        (t.district or words.NOWHERE, t.kind if t.kind in words.KINDS else words.OTHER)
        for t in messages
    )
    listed = [*book.districts, *sorted(set(count) - {*book.districts, ""}), words.NOWHERE]
    listed = [d for d in listed if count[d] or d in book.districts]
    told = [k for k in (*words.KINDS, words.OTHER) if any(each[d, k] for d in listed)]
    rows = tuple(
        (
            words.district(book, d),
            count[d],
            *((each[d, k] / count[d] if count[d] else None) for k in told),
        )
        for d in listed
    )
    most = max(listed, key=lambda d: count[d], default="")
    return Figure(
        "districts",
        "By district",
        MESSAGE.says + " The district is the one the answer was for; the shares are of that "
        "district’s messages.",
        f"Most: {words.district(book, most)}, {count[most]:,} of {len(messages):,}."
        if messages
        else "No messages.",
        (
            Column("District", "text"),
            Column("Messages"),
            *(Column(words.kind(k), "share") for k in told),
        ),
        rows,
        Bars(
            tuple(words.district(book, d) for d in listed),
            (("Messages", tuple(float(count[d]) for d in listed)),),
            tuple(f"{count[d]:,}" for d in listed),
            "messages",
        )
        if messages
        else None,
        tuple(
            {"figure": "districts", "measure": "messages", "district": d or "none", "kind": k}
            | {"value": each[d, k]}
            for d in listed
            for k in told
        ),
        len(rows),
    )


def items(book: Book, traffic: Traffic) -> Figure:
    """The things most asked about, with the districts."""
    things = KNOWN.among(TOLD.among(traffic.things))
    count: Counter[str] = Counter(str(t.item) for t in things)
    each: Counter[tuple[str, str]] = Counter(
        (str(t.item), t.district or words.NOWHERE) for t in things
    )
    there = {d for _, d in each}
    listed = [d for d in (*book.districts, words.NOWHERE) if d in there]
    listed += sorted(there - set(listed))
    ranked = by_frequency(count)
    rows = tuple(
        (words.item(book, i), count[i], *(each[i, d] for d in listed)) for i in ranked[:MOST]
    )
    charted = ranked[:CHARTED]
    return Figure(
        "items",
        "What people ask about most",
        f"{TOLD.says} {KNOWN.says} It counts under the rule that decided, so “tray” counts as "
        "“plastic tray” once that is clear.",
        f"{amount(len(ranked), 'thing')}; most often {words.item(book, ranked[0])}, "
        f"{count[ranked[0]]:,} of {len(things):,}."
        if ranked
        else "No thing was asked about.",
        (
            Column("Thing", "text"),
            Column("Times"),
            *(Column(words.district(book, d)) for d in listed),
        ),
        rows,
        Bars(
            tuple(words.item(book, i) for i in charted),
            tuple(
                (words.district(book, d), tuple(float(each[i, d]) for i in charted)) for d in listed
            ),
            tuple(f"{count[i]:,}" for i in charted),
            "times asked about",
        )
        if ranked
        else None,
        tuple(
            {"figure": "items", "measure": "times", "item": i, "district": d or "none"}
            | {"value": each[i, d]}
            for i in ranked
            for d in listed
            if each[i, d]
        ),
        len(ranked),
    )
