"""Before and after a change: intervals against published ones, and what is said of them."""

from __future__ import annotations

from datetime import date, timedelta
from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.figures import change
from bot.figures.intervals import Difference, difference, share, statement
from bot.figures.period import Period
from bot.figures.query import Query
from bot.figures.report import made
from rules import load
from tests.bot.turns_made_up import Remark, Row, Rows, thing

BOOK = load()


@pytest.mark.parametrize(
    ("part", "whole", "low", "high"),
    [
        # R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3 (from memory).
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_share_has_wilsons_interval(part, whole, low, high):
    found = share(part, whole)
    assert (found.low, found.high) == (pytest.approx(low, abs=6e-5), pytest.approx(high, abs=6e-5))


@pytest.mark.parametrize(
    ("after", "before", "low", "high"),
    [
        # The same author's paper on differences, the same volume, 873-890, table II, method 10
        # (from memory).
        ((56, 70), (48, 80), 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.1705, 0.8090),
        ((6, 7), (2, 7), 0.0582, 0.8062),
        ((5, 56), (0, 29), -0.0381, 0.1926),
        ((0, 10), (0, 20), -0.1611, 0.2775),
        ((10, 10), (0, 20), 0.6791, 1.0000),
    ],
)
def test_difference_has_newcombes_interval(after, before, low, high):
    found = difference(share(*before), share(*after))
    assert found
    assert (found.low, found.high) == (pytest.approx(low, abs=6e-5), pytest.approx(high, abs=6e-5))


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 4000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_wilsons_interval_solves_its_equation(told):
    # Its ends are the p for which (k/n - p)² = z² p(1-p)/n; z of 95 % is 1.959964.
    part, whole = told
    found = share(part, whole)
    for p in (found.low, found.high):
        if 0 < p < 1:
            left = (part / whole - p) ** 2
            assert sqrt(left) == pytest.approx(1.959964 * sqrt(p * (1 - p) / whole), rel=1e-4)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ((10, 100), (40, 100), "Rose by 30 points"),
        ((40, 100), (10, 100), "Fell by 30 points"),
        ((500, 1000), (510, 1000), "No clear change"),
        ((0, 5000), (0, 5000), "less than a point either way"),
        ((20_000, 1_000_000), (22_000, 1_000_000), "Rose by less than a point"),
        ((1, 3), (2, 3), "Too few to tell"),
        ((0, 0), (2, 3), "nothing to compare"),
    ],
)
def test_statement_is_plain_and_careful(before, after, said):
    assert said in statement(difference(share(*before), share(*after)))


def test_verdict_takes_sides_only_where_the_interval_leaves_out_0():
    assert Difference(0.1, -0.01, 0.11).verdict == "same"
    assert Difference(0.1, 0.001, 0.3).verdict == "rose"
    assert Difference(0.1, -0.2, 0.3).verdict == "few"


CHANGE = date(2026, 11, 11)


def turns(day: date, count: int, kind: str, item: str = "tissues", demo: bool = True) -> list[Row]:
    at = f"{day.isoformat()}T12:00:00+00:00"
    return [
        Row(at=at, on=day.isoformat(), conversation=f"{day}{kind}{n}", kind=kind, demo=demo)
        if kind == "unclear"
        else Row(
            at=at,
            on=day.isoformat(),
            conversation=f"{day}{n}",
            demo=demo,
            items=[thing(item, "residual")],
        )
        for n in range(count)
    ]


def compared(rows: list[Row], period: Period, remarks: list[Remark] | None = None):
    query = Query(period, change=CHANGE)
    found = {f.id: f for f in made(query, BOOK, Rows(rows), remarks or []).figures}
    return found["change"], found["change_items"]


def test_before_and_after_have_as_many_days_and_the_right_rows():
    before, after = CHANGE - timedelta(days=2), CHANGE + timedelta(days=1)
    rows = [
        *turns(CHANGE - timedelta(days=9), 500, "answer"),
        *turns(before, 80, "answer"),
        *turns(before, 20, "unclear"),
        *turns(after, 30, "answer", "cereal_box"),
        *turns(after, 70, "unclear"),
    ]
    shares, items = compared(rows, Period(date(2026, 11, 1), date(2026, 11, 14)))
    assert "7 November 2026 to 10 November 2026 (100 messages)" in shares.summary
    assert "11 November 2026 to 14 November 2026 (100 messages)" in shares.summary
    assert "not understood" in shares.summary
    told = {row[0]: row for row in shares.rows}["Not understood, of messages"]
    assert told[1].startswith("20%,") and told[2].startswith("70%,")
    assert str(told[3]).startswith("Rose by 50 points")
    assert items.rows == (
        ("tissues", 80, 0, "Fewer"),
        ("cereal box", 0, 30, "More"),
    )
    values = {(v["measure"], v["side"]): v for v in shares.values}
    assert values["Not understood", "after"] | {"low": 0, "high": 0} == {
        "figure": "change",
        "measure": "Not understood",
        "side": "after",
        "value": 70,
        "of": 100,
        "low": 0,
        "high": 0,
    }


def test_things_are_only_said_to_be_asked_more_where_that_is_clear():
    before, after = CHANGE - timedelta(days=1), CHANGE
    rows = [*turns(before, 8, "answer"), *turns(after, 12, "answer")]
    rows += [*turns(before, 2, "answer", "cereal_box"), *turns(after, 7, "answer", "cereal_box")]
    items = compared(rows, Period(before, after))[1]
    # 12 of 20: Wilson 0.39 to 0.78, by hand. Nine questions are too few to list at all.
    assert items.rows == (("tissues", 8, 12, "No clear change"),)


def test_nothing_is_claimed_of_a_handful():
    rows = [*turns(CHANGE - timedelta(days=1), 2, "answer"), *turns(CHANGE, 2, "unclear")]
    shares, items = compared(rows, Period(CHANGE - timedelta(days=1), CHANGE))
    assert items.rows == () and items.chart is None
    told = {row[0]: row[3] for row in shares.rows}
    assert told["Careful answer, of messages"].startswith("Too few to tell")
    assert "nothing to compare" in told["Said to be right, of remarks"]


def test_a_day_that_is_not_over_is_not_compared(monkeypatch):
    monkeypatch.setattr(change, "today", lambda: CHANGE)
    shares, items = compared(
        turns(CHANGE, 5, "answer", demo=False), Period(date(2026, 11, 1), CHANGE)
    )
    assert shares.rows == () == items.rows and shares.chart is None
    assert "nothing to compare" in shares.summary


def test_what_the_rules_announce_for_the_day_is_told():
    day = next(c for c in BOOK.changes.values() if c.id == "film_2027")
    period = Period(day.on - timedelta(days=3), day.on + timedelta(days=3))
    query = Query(period, change=day.on, demo=True)
    found = made(query, BOOK, Rows([]), [])
    assert day.answer in next(f for f in found.figures if f.id == "change").notes
