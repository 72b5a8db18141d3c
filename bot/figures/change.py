"""Before and after a day on which something changes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from bot.figures import words
from bot.figures.definitions import (
    FOLLOWED,
    KNOWN,
    MESSAGE,
    REMARK,
    TOLD,
    Bins,
    of_kind,
)
from bot.figures.figure import Bars, Column, Figure, Pairs, amount, percent
from bot.figures.follow import SETTLED
from bot.figures.intervals import Difference, Share, difference, share, statement
from bot.figures.period import ONE, Period, around, today, written
from bot.figures.traffic import FAILED, Traffic
from rules.model import Book

LISTED = 12
ENOUGH = 10
"""A thing asked about fewer times than this, on both sides together, is not compared."""
HOW = (
    "The same number of whole days on both sides. Each share has the interval in which it most "
    "likely lies (Wilson, 95%), and so has the difference (Newcombe, from the two). Only where "
    "that leaves out 0 does it say rose or fell; an interval wider than 20 points is too few to "
    "tell. Of twenty such lines one may say so by mere chance, messages of one person are not "
    "independent, and something else may have changed on those days too."
)


@dataclass(frozen=True, slots=True)
class Compared:
    """A share on both sides of a change."""

    name: str
    of: str
    before: Share
    after: Share
    difference: Difference | None


class Side:
    """What was on one side of a change, with its messages picked out once."""

    def __init__(self, traffic: Traffic) -> None:
        self.traffic = traffic
        self.messages = MESSAGE.among(traffic.turns)


def measures(book: Book) -> list[tuple[str, str, Callable[[Side], tuple[int, int]]]]:
    """Each share that is compared: its name, what it is a share of, and how it is counted."""
    containers = Bins(book)

    def of_messages(code: str) -> Callable[[Side], tuple[int, int]]:
        kind = of_kind(code)

        def counted(side: Side) -> tuple[int, int]:
            return len(kind.among(side.messages)), len(side.messages)

        return counted

    def in_bins(side: Side) -> tuple[int, int]:
        found = containers.asked(side.traffic.things)
        return len(containers.another.among(found)), len(found)

    def in_second(side: Side) -> tuple[int, int]:
        found = FOLLOWED.among(side.traffic.second)
        return sum(s.outcome == SETTLED for s in found), len(found)

    def in_remarks(side: Side) -> tuple[int, int]:
        found = REMARK.among(side.traffic.remarks)
        return sum(r.kind == "right" for r in found), len(found)

    return [
        *((words.kind(k), "messages", of_messages(k)) for k in words.KINDS),
        ("Another container meant", "cases with one named", in_bins),
        ("Second question settled", "second questions", in_second),
        ("Said to be right", "remarks", in_remarks),
    ]


def sides(traffic: Traffic, change: date) -> tuple[Traffic, Traffic] | None:
    """What was before and after a change. `None` if there is no whole day on one side.

    Today is not over; the simulator's days are, whatever the clock says.
    """
    last = traffic.period.end if traffic.demo else today() - ONE
    found = around(change, traffic.period, last)
    return (traffic.within(found[0]), traffic.within(found[1])) if found else None


def compared(book: Book, before: Side, after: Side) -> list[Compared]:
    """Every share on both sides; failures only if there were any."""
    found = []
    for name, of, counted in measures(book):
        first, second = share(*counted(before)), share(*counted(after))
        if name == words.kind(FAILED) and not first.part + second.part:
            continue
        found.append(Compared(name, of, first, second, difference(first, second)))
    return found


def shares(book: Book, traffic: Traffic, change: date) -> Figure:
    """The shares before and after."""
    found = sides(traffic, change)
    title = f"Before and after {written(change)}"
    columns = (
        Column("Share", "text"),
        Column("Before", "range"),
        Column("After", "range"),
        Column("What that means", "sentence"),
    )
    if found is None:
        told = "There is no whole day on one side yet, so there is nothing to compare."
        return Figure("change", title, HOW, told, columns, (), None)
    before, after = Side(found[0]), Side(found[1])
    lines = compared(book, before, after)
    clear = [c.name.lower() for c in lines if c.difference and c.difference.verdict in RISES]
    summary = (
        f"{spelled(before.traffic.period)} ({amount(len(before.messages), 'message')}) beside "
        f"{spelled(after.traffic.period)} ({amount(len(after.messages), 'message')}). "
    )
    summary += f"A clear difference: {', '.join(clear)}." if clear else "No clear difference."
    return Figure(
        "change",
        title,
        HOW,
        summary,
        columns,
        tuple(
            (f"{c.name}, of {c.of}", cell(c.before), cell(c.after), statement(c.difference))
            for c in lines
        ),
        Pairs(
            tuple(c.name for c in lines),
            tuple(drawn(c.before) for c in lines),
            tuple(drawn(c.after) for c in lines),
            "share",
        ),
        tuple(value for c in lines for value in values(c)),
        len(lines),
        notes=tuple(announced(book, change)),
    )


RISES = ("rose", "fell")


def values(c: Compared) -> list[dict[str, object]]:
    """A compared share as rows of the file."""
    rows: list[dict[str, object]] = []
    for side, told in (("before", c.before), ("after", c.after)):
        row: dict[str, object] = {"figure": "change", "measure": c.name, "side": side}
        row |= {"value": told.part, "of": told.whole}
        rows.append(row | ({"low": told.low, "high": told.high} if told.whole else {}))
    if c.difference:
        d = c.difference
        row = {"figure": "change", "measure": c.name, "side": "difference", "value": d.value}
        rows.append(row | {"low": d.low, "high": d.high, "outcome": d.verdict})
    return rows


def announced(book: Book, day: date) -> list[str]:
    """What the rule book says of a day."""
    return [c.answer for c in book.changes.values() if c.on == day]


def spelled(period: Period) -> str:
    """A period in words."""
    if len(period) == 1:
        return written(period.start)
    return f"{written(period.start)} to {written(period.end)}"


def cell(told: Share) -> str:
    """A share with its interval, as people read it."""
    if told.value is None:
        return "none"
    return (
        f"{percent(told.value)}, likely {told.low * 100:.0f} to {told.high * 100:.0f}% "
        f"({told.part:,} of {told.whole:,})"
    )


def drawn(told: Share) -> tuple[float, float, float] | None:
    """A share as the chart draws it."""
    return None if told.value is None else (told.value, told.low, told.high)


def items(book: Book, traffic: Traffic, change: date) -> Figure:
    """The things asked about more, or less, after than before.

    Of a thing's questions on both sides together, half would fall on either side if nothing had
    changed. It counts as more or fewer only where the Wilson interval of the share that came after
    leaves out half.
    """
    found = sides(traffic, change)
    before, after = found if found else (None, None)
    one = counted_items(before)
    two = counted_items(after)
    both = {i: (one[i], two[i]) for i in {*one, *two} if one[i] + two[i] >= ENOUGH}
    ranked = sorted(both, key=lambda i: (-abs(two[i] - one[i]), i))
    rows = []
    for i in ranked[:LISTED]:
        part = share(two[i], one[i] + two[i])
        told = "More" if part.low > 0.5 else "Fewer" if part.high < 0.5 else "No clear change"
        rows.append((words.item(book, i), one[i], two[i], told))
    return Figure(
        "change_items",
        "What people asked about before and after",
        f"{TOLD.says} {KNOWN.says} The same days as above. Only things asked about {ENOUGH} times "
        "or more are listed. More or fewer is said only where the share of a thing’s questions "
        "that came after is clearly not half (Wilson, 95%).",
        f"{amount(len(ranked), 'thing')} asked about often enough to compare.",
        (Column("Thing", "text"), Column("Before"), Column("After"), Column("Asked", "text")),
        tuple(rows),
        Bars(
            tuple(str(r[0]) for r in rows),
            (
                ("Before", tuple(float(r[1]) for r in rows)),
                ("After", tuple(float(r[2]) for r in rows)),
            ),
            (),
            "times asked about",
            grouped=True,
        )
        if rows
        else None,
        tuple(
            {"figure": "change_items", "measure": "times", "item": i, "side": side, "value": n}
            for i in ranked
            for side, n in (("before", one[i]), ("after", two[i]))
        ),
        len(ranked),
    )


def counted_items(traffic: Traffic | None) -> Counter[str]:
    """How often each known thing was asked about."""
    if traffic is None:
        return Counter()
    return Counter(str(t.item) for t in KNOWN.among(TOLD.among(traffic.things)))
