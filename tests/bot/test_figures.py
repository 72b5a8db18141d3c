"""What people ask: the figures against SQL written by hand over the same rows, and at the edges."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from collections import Counter
from datetime import date, datetime, timedelta

import pytest
import pytz
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.figures.figure import Figure
from bot.figures.period import Period, around, day_of
from bot.figures.query import Query, asked
from bot.figures.report import Report, made
from bot.processes import Failed
from rules import load
from tests.bot import turns_made_up as up
from tests.bot.turns_made_up import Remark, Row, Rows, thing

BOOK = load()
NOVEMBER = Period(date(2026, 11, 1), date(2026, 11, 28))
ROWS = up.made(3000)
LONDON = pytz.timezone("Europe/London")
"""The Olson database as pytz has it: not the one the program reads."""


def report(rows: list[Row], remarks: list[Remark] = (), **asked_for: object) -> Report:  # type: ignore[assignment]
    query = Query(**{"period": NOVEMBER, **asked_for})  # type: ignore[arg-type]
    return made(query, BOOK, Rows(rows), remarks)


def figure(found: Report, id: str) -> Figure:
    (one,) = [f for f in found.figures if f.id == id]
    return one


def counts(found: Report, id: str, *by: str, measure: str = "") -> Counter[tuple[str, ...]]:
    """The values of a figure's file, by some of its fields."""
    added: Counter[tuple[str, ...]] = Counter()
    for row in figure(found, id).values:
        if row["value"] and (not measure or row["measure"] == measure):
            added[tuple(str(row[b]) for b in by)] += row["value"]
    return added


# ---- against SQL


@pytest.fixture(scope="module")
def sql() -> sqlite3.Connection:
    """The rows as two plain tables, with UK days by another library."""
    there = sqlite3.connect(":memory:")
    there.execute("create table turns (n, day, channel, district, kind, conversation, asks, meant)")
    there.execute("create table things (n, place, item, said, goes, unsettled)")
    for n, r in enumerate(ROWS):
        day = datetime.fromisoformat(r.at).astimezone(LONDON).date().isoformat()
        asks = (r.asks or {}).get("condition")
        turn = (n, day, r.channel, r.district, r.kind, r.conversation, asks, ",".join(r.meant))
        there.execute("insert into turns values (?,?,?,?,?,?,?,?)", turn)
        for p, i in enumerate(r.items):
            one = (n, p, i["item"], i["asked_as"], i["destination"], json.dumps(i["unsettled"]))
            there.execute("insert into things values (?,?,?,?,?,?)", one)
    return there


def rows_of(sql: sqlite3.Connection, query: str) -> Counter[tuple[str, ...]]:
    return Counter({tuple(map(str, row[:-1])): row[-1] for row in sql.execute(query)})


@pytest.fixture(scope="module")
def whole() -> Report:
    return report(ROWS, period=Period(date(2026, 10, 20), date(2026, 12, 10)))


def test_messages_by_day_and_channel(sql, whole):
    expected = rows_of(
        sql,
        "select day, channel, count(*) from turns where kind <> 'small_talk' group by day, channel",
    )
    assert counts(whole, "days", "day", "channel") == expected and len(expected) > 50


def test_kinds_of_reply(sql, whole):
    expected = rows_of(
        sql, "select kind, count(*) from turns where kind <> 'small_talk' group by kind"
    )
    assert counts(whole, "kinds", "kind", measure="messages") == expected


def test_kinds_by_district(sql, whole):
    expected = rows_of(
        sql,
        "select ifnull(district, 'none'), kind, count(*) from turns where kind <> 'small_talk' "
        "group by district, kind",
    )
    assert counts(whole, "districts", "district", "kind") == expected


def test_things_by_district(sql, whole):
    expected = rows_of(
        sql,
        "select item, ifnull(district, 'none'), count(*) from things join turns using (n) "
        "where goes is not null and item is not null and kind <> 'information' "
        "group by item, district",
    )
    assert counts(whole, "items", "item", "district") == expected


def test_unknown_things(sql, whole):
    expected = rows_of(
        sql,
        "select replace(replace(replace(lower(said), 'a ', ''), 'the ', ''), 'my ', ''), count(*) "
        "from things where item is null and goes is not null group by 1",
    )
    assert counts(whole, "unknown", "words") == expected
    assert ("theremin",) in expected


def test_second_questions_and_what_became_of_them(sql, whole):
    expected = rows_of(
        sql,
        """
        with pairs as (
          select *, lead(n) over (partition by conversation order by n) as after from turns)
        select asks, case when after is null then 'silent'
            when (select unsettled from things where n = after) = '[]' then 'settled'
            else 'careful' end, count(*)
        from pairs where asks is not null group by 1, 2
        """,
    )
    assert counts(whole, "second", "condition", "outcome") == expected and len(expected) == 3


def test_containers_meant_and_right(sql, whole):
    # Oxmere has neither of the two containers for dry recycling: the scheme's table of districts.
    expected = rows_of(
        sql,
        """
        with before as (select conversation, meant from turns where asks is not null),
        named as (
          select n, district, kind, coalesce(nullif(turns.meant, ''), before.meant) as meant
          from turns left join before using (conversation))
        select item, meant, goes, ifnull(district, 'none'), count(*)
        from things join named using (n)
        where goes is not null and meant <> '' and meant <> goes
          and kind not in ('information', 'emergency')
          and not (district is 'oxmere' and meant in ('paper_card', 'containers'))
        group by item, meant, goes, district
        """,
    )
    found = counts(
        whole, "bins", "item", "meant", "destination", "district", measure="another container"
    )
    assert found == expected and ("pizza_box", "paper_card", "residual", "tarnside") in expected


def test_cut_tables_say_so_and_the_file_has_all():
    many = [Row(items=[thing(i, "residual")]) for i in list(BOOK.items)[:60]]
    found = figure(report(many), "items")
    assert (len(found.rows), found.of_all, found.cut) == (20, 60, 40)
    assert len(found.values) == 60


# ---- what always holds


STORIES = st.lists(
    st.builds(
        Row,
        at=st.datetimes(datetime(2026, 10, 20), datetime(2026, 12, 5)).map(
            lambda at: at.isoformat(timespec="seconds") + "+00:00"
        ),
        conversation=st.sampled_from(["a", "b", "c", None]),
        channel=st.sampled_from(["webchat", "sms", "kiosk", "preview"]),
        district=st.sampled_from([*BOOK.districts, None, "elsewhere"]),
        kind=st.sampled_from(
            ["answer", "question", "cautious", "unclear", "small_talk", "emergency", "new_kind"]
        ),
        items=st.lists(
            st.builds(
                thing,
                st.sampled_from(["pizza_box", "tissues", "not_in_the_book", None]),
                st.sampled_from(["residual", "paper_card", None]),
                st.text(max_size=12),
            ),
            max_size=3,
        ),
        asks=st.sampled_from([None, {"item": "pizza_box", "condition": "food_origin"}]),
        meant=st.lists(st.sampled_from(["paper_card", "residual", "garden"]), max_size=2),
        demo=st.booleans(),
    ),
    max_size=40,
)


@settings(max_examples=60, deadline=None)
@given(STORIES, st.booleans())
def test_parts_add_up(rows, demo):
    found = report(rows, demo=demo)
    messages = sum(
        r.demo == demo
        and r.channel != "preview"
        and r.kind != "small_talk"
        and datetime.fromisoformat(r.at).astimezone(LONDON).date() in NOVEMBER
        for r in rows
    )
    for id in ("days", "kinds", "districts"):
        assert sum(counts(found, id, measure="messages").values()) == messages
    shares = [v["value"] for v in figure(found, "kinds").values if v["measure"] == "share"]
    assert sum(shares) == pytest.approx(1) if messages else shares == []
    for id in ("items", "bins", "unknown", "second"):
        shown = figure(found, id)
        column = {"bins": 3}.get(id, 1)
        told = {"measure": "another container"} if id == "bins" else {}
        whole = sum(counts(found, id, **told).values())
        assert sum(int(row[column] or 0) for row in shown.rows) == whole
    for row in figure(found, "items").rows:
        assert row[1] == sum(row[2:])
    days = figure(found, "days")
    assert all(row[-1] == sum(row[1:-1]) for row in days.rows)


@settings(max_examples=25, deadline=None)
@given(STORIES)
def test_districts_and_channels_apart_add_up_to_the_whole(rows):
    rows = [r for r in rows if r.district != "elsewhere" and not r.demo]
    every = report(rows, demo=False)
    apart = [report(rows, demo=False, district=d) for d in BOOK.districts]
    nowhere = report([r for r in rows if r.district is None], demo=False)
    for id in ("days", "items", "unknown"):
        added = sum((counts(r, id) for r in [*apart, nowhere]), Counter())
        assert added == counts(every, id)
    by_channel = [report(rows, demo=False, channel=c) for c in ("webchat", "sms", "kiosk")]
    assert sum((counts(r, "days") for r in by_channel), Counter()) == counts(every, "days")


# ---- days


def test_days_are_those_of_the_uk():
    # Summer Time Order 2002 (SI 2002/262): the clocks change at 01:00 GMT on the last Sundays of
    # March and October; in 2026 these are 29 March and 25 October.
    assert day_of("2026-03-28T23:59:59+00:00") == date(2026, 3, 28)
    assert day_of("2026-03-29T22:59:59+00:00") == date(2026, 3, 29)
    assert day_of("2026-03-29T23:00:00+00:00") == date(2026, 3, 30)
    assert day_of("2026-10-24T23:00:00+00:00") == date(2026, 10, 25)
    assert day_of("2026-10-25T23:59:59+00:00") == date(2026, 10, 25)
    assert day_of("2026-10-26T00:00:00+00:00") == date(2026, 10, 26)
    assert day_of("2026-07-01") == date(2026, 7, 1)


@settings(max_examples=300, deadline=None)
@given(st.datetimes(datetime(2015, 1, 1), datetime(2037, 1, 1)))
def test_days_agree_with_another_database(moment):
    expected = pytz.utc.localize(moment).astimezone(LONDON).date()
    assert day_of(moment.isoformat(timespec="seconds") + "+00:00") == expected


def test_day_of_the_clock_change_has_its_25_hours():
    start = datetime(2026, 10, 24, 22)
    rows = [
        Row(at=(start + timedelta(hours=h)).isoformat() + "+00:00", conversation=str(h))
        for h in range(30)
    ]
    day = date(2026, 10, 25)
    assert counts(report(rows, period=Period(day, day)), "days", "day") == {("2026-10-25",): 25}


# ---- edges


def test_nothing_was_asked():
    found = report([])
    assert all(f.chart is None for f in found.figures)
    assert found.empty and not report([Row()]).empty
    assert not found.demo and "No messages." in figure(found, "kinds").summary
    assert len(list(csv.DictReader(io.StringIO(found.csv())))) > 0


def test_one_message():
    found = report([Row(items=[thing("tissues", "residual")], meant=["paper_card"])])
    assert figure(found, "kinds").rows[0] == ("Answered by a rule", 1, 1.0)
    assert figure(found, "items").rows[0][:2] == ("tissues", 1)
    assert figure(found, "bins").rows[0][:4] == ("tissues", "paper and card", "general waste", 1)


def test_preview_is_never_counted():
    row = Row(channel="preview", items=[thing("tissues", "residual")])
    assert not counts(report([row], [Remark(channel="preview")]), "days")
    assert not counts(report([row], [Remark(channel="preview")]), "remarks")


def test_demo_is_told_apart_and_never_added():
    rows = [Row(demo=True, conversation="d"), Row(demo=True, conversation="d"), Row()]
    remarks = [Remark(conversation="d"), Remark(conversation="old"), Remark(conversation="c1")]
    old = Row(at="2026-01-05T10:00:00+00:00", conversation="old", demo=True)
    real, demo = report([*rows, old], remarks), report([*rows, old], remarks, demo=True)
    assert (real.demo, real.others, sum(counts(real, "days").values())) == (False, 2, 1)
    assert (demo.demo, demo.others, sum(counts(demo, "days").values())) == (True, 1, 2)
    assert sum(counts(real, "remarks").values()) == 1
    assert sum(counts(demo, "remarks").values()) == 2
    assert report(rows[:2]).demo


def test_turn_the_program_failed_in_is_not_called_unclear():
    found = report([Row(kind="unclear", fault="failed"), Row(kind="unclear", fault="unclear")])
    assert counts(found, "kinds", "kind", measure="messages") == {("failed",): 1, ("unclear",): 1}


def test_forgotten_turns_still_count():
    asks = {"item": "pizza_box", "condition": "food_origin"}
    row = Row(at="2026-11-10", conversation=None, kind="question", asks=asks)
    blank = Row(at="2026-11-10", conversation=None, items=[thing(None, "residual", " ")])
    blank.items[0]["asked_as"] = ""
    found = report([row, blank])
    assert counts(found, "days", "day") == {("2026-11-10",): 2}
    assert counts(found, "second", "outcome") == {("lost",): 1}
    assert counts(found, "unknown", "words") == {("(words forgotten)",): 1}
    assert "2 are of conversations that were forgotten" in " ".join(found.about)


# ---- following a question


ASKS = {"item": "pizza_box", "condition": "food_origin"}
OPEN = thing("pizza_box", None)


def outcome(*turns: Row) -> tuple[str, int]:
    found = [v for v in figure(report(list(turns)), "second").values if v["value"]]
    ((row, number),) = [(v["outcome"], v["value"]) for v in found]
    return row, number


def test_question_that_cannot_be_followed_is_no_part_of_the_share():
    lost = Row(at="2026-11-10", conversation=None, kind="question", asks=ASKS)
    ask = Row(kind="question", items=[OPEN], asks=ASKS)
    found = figure(report([lost, lost, ask, Row(items=[thing("pizza_box", "residual")])]), "second")
    assert found.rows[0][:2] == ("food origin", 3) and found.rows[0][-1] == 1.0
    assert found.summary.startswith("3 second questions. 100% of those that can be followed")


def test_question_put_again_counts_once():
    again = Row(kind="question", items=[OPEN], asks=ASKS)
    done = Row(items=[thing("pizza_box", "residual")])
    assert outcome(again, again, done) == ("settled", 1)
    assert "1 had to be put again" in figure(report([again, again, done]), "second").summary


def test_question_left_for_another_thing_and_taken_up_again():
    ask = Row(kind="question", items=[OPEN], asks=ASKS)
    aside = Row(items=[thing("tissues", "residual")])
    assert outcome(ask, aside) == ("left", 1)
    assert outcome(ask, aside, Row(items=[thing("pizza_box", "residual")])) == ("settled", 1)


def test_question_settled_by_the_rule_of_a_kind_of_thing():
    ask = Row(kind="question", items=[thing("tray", None)], asks={**ASKS, "item": "tray"})
    done = Row(items=[thing("plastic_tray", "containers", "tray", asked="tray")])
    assert outcome(ask, done) == ("settled", 1)


def test_question_settled_after_midnight_and_after_the_period():
    ask = Row(at="2026-11-28T23:59:00+00:00", kind="question", items=[OPEN], asks=ASKS)
    done = Row(at="2026-11-29T00:01:00+00:00", items=[thing("pizza_box", "residual")])
    assert outcome(ask, done) == ("settled", 1)


def test_container_named_before_the_question_counts_with_the_answer():
    ask = Row(kind="question", items=[OPEN], asks=ASKS, meant=["paper_card"])
    done = Row(items=[thing("pizza_box", "residual")])
    assert counts(report([ask, done]), "bins", "item", "meant", measure="another container") == {
        ("pizza_box", "paper_card"): 1
    }


def test_container_that_is_an_alternative_is_no_mistake():
    told = thing("cork", "shop_take_back", alternatives=["residual"])
    found = report([Row(items=[told], meant=["residual"])])
    assert not figure(found, "bins").rows
    assert counts(found, "bins", "measure") == {("container named",): 1}


def test_container_the_district_does_not_have_yet_is_not_counted():
    # Tarnside's containers change on 1 February 2027; Oxmere never had a paper and card bin.
    row = Row(district="oxmere", items=[thing("tissues", "residual")], meant=["paper_card"])
    assert not figure(report([row]), "bins").rows


# ---- what is asked for


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ({"start": "1 May"}, "is no date"),
        ({"start": "2026-11-02", "end": "2026-11-01"}, "ends before it starts"),
        ({"start": "2020-01-01", "end": "2026-01-01"}, "may have 731 days"),
        ({"district": "camelot"}, "There are: "),
        ({"start": "2026-11-01", "end": "2026-11-28", "change": "2026-11-01"}, "both sides"),
        ({"start": "2026-11-01", "end": "2026-11-28", "change": "2026-11-29"}, "both sides"),
        ({"end": "0001-01-01"}, "too far away"),
    ],
)
def test_what_cannot_be_reported_on_is_said(written, said):
    with pytest.raises(Failed, match=said):
        asked(BOOK, **written)


def test_without_days_it_is_the_last_four_weeks():
    assert len(asked(BOOK).period) == 28


@given(st.dates(date(2026, 1, 1), date(2026, 12, 31)), st.integers(0, 400), st.integers(-5, 405))
def test_both_sides_of_a_change_have_as_many_days(start, length, after):
    period = Period(start, start + timedelta(days=length))
    change = start + timedelta(days=after)
    found = around(change, period, date(2026, 11, 30))
    if found is None:
        return
    before, later = found
    assert len(before) == len(later) > 0
    assert before.end + timedelta(days=1) == change == later.start
    assert before.start in period and later.end in period and later.end <= date(2026, 11, 30)
    # And no longer ones would fit.
    assert before.start == period.start or later.end == min(period.end, date(2026, 11, 30))
