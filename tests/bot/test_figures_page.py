"""What people ask, on the officer's page: the form, the figures, the downloads."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict
from datetime import date

import pytest

from bot.figures.shelf import Reports
from bot.record.entry import TABLE
from bot.record.store import Record, add
from tests.bot import turns_made_up as up
from tests.bot.officer import NEEDS, fits, officer, officer_driver, see, staff  # noqa: F401
from tests.bot.turns_made_up import Row, thing

PATH = "/officer/asked"
DAYS = "from=2024-03-01&to=2024-03-28"
"""Long before anything else is asked in the tests."""
CHANGE = f"{DAYS}&change=2024-03-15"
BLANK = {"turn": None, "question": None, "intent": "", "confidence": 1.0, "book": None}


@pytest.fixture(scope="module", autouse=True)
def traffic(running) -> Iterator[None]:
    """Demo traffic of a month, and one resident's message, in the running assistant's record."""
    record = Record(running.data)
    rows = up.made(400, start=date(2024, 3, 1), demo=True)
    rows.append(
        Row(at="2024-03-05T09:00:00+00:00", on="2024-03-05", items=[thing("cork", "residual")])
    )
    with record.engine.begin() as connection:
        add(connection, [{**asdict(row), **BLANK} for row in rows])
    yield
    with record.engine.begin() as connection:
        connection.execute(TABLE.delete().where(TABLE.c.at < "2024-04"))


def values(staff, query: str) -> list[dict[str, str]]:  # noqa: F811
    status, headers, body = staff.request(f"{PATH}/values.csv?{query}")
    told = {name.lower(): value for name, value in headers.items()}
    assert status == 200 and told["content-type"] == "text/csv; charset=utf-8"
    assert "attachment" in told["content-disposition"] and ".csv" in told["content-disposition"]
    return list(csv.DictReader(io.StringIO(body, newline="")))


def messages(rows: list[dict[str, str]]) -> int:
    return sum(int(r["value"]) for r in rows if r["figure"] == "days")


def test_residents_and_demo_are_never_added_up(staff):  # noqa: F811
    residents, demo = (values(staff, f"{DAYS}&whose={w}") for w in ("residents", "demo"))
    assert messages(residents) == 1
    assert messages(demo) == sum(r.kind != "small_talk" for r in up.made(400))
    assert values(staff, DAYS) == residents
    page = staff.page(f"{PATH}?{DAYS}&whose=demo")
    assert "<strong>Demo traffic.</strong>" in page and "Not counted here: 1 from residents" in page
    assert "Demo traffic" not in staff.page(f"{PATH}?{DAYS}")


def test_form_keeps_what_was_chosen_and_the_downloads_have_it(staff):  # noqa: F811
    page = staff.page(f"{PATH}?{CHANGE}&whose=demo&district=oxmere&channel=sms")
    assert '<option value="oxmere" selected>' in page and '<option value="sms" selected>' in page
    assert 'name="change" value="2024-03-15"' in page
    asked = "from=2024-03-01&amp;to=2024-03-28&amp;district=oxmere&amp;channel=sms"
    assert f"{PATH}/values.csv?{asked}&amp;change=2024-03-15&amp;whose=demo" in page
    rows = values(staff, f"{CHANGE}&whose=demo&district=oxmere&channel=sms")
    assert {r["channel"] for r in rows if r["figure"] == "days"} == {"sms"}
    expected = [
        r
        for r in up.made(400)
        if r.district == "oxmere" and r.channel == "sms" and r.kind != "small_talk"
    ]
    assert messages(rows) == len(expected) > 10


def test_days_on_which_nobody_asked_say_so(staff):  # noqa: F811
    page = staff.page(f"{PATH}?from=2019-01-01&to=2019-01-05")
    assert "Nobody asked anything on these days." in page and "<svg" not in page


def test_saved_page_is_one_file(staff):  # noqa: F811
    status, headers, body = staff.request(f"{PATH}/report.html?{CHANGE}&whose=demo")
    told = {name.lower(): value for name, value in headers.items()}
    assert status == 200 and "attachment" in told["content-disposition"]
    assert body.startswith("<!doctype html>") and "<script" not in body and "<link" not in body
    assert "Before and after 15 March 2024" in body


def test_a_message_counts_at_once(staff, site):  # noqa: F811
    before = values(staff, "whose=residents")
    site.say("where does a jam jar go", district="pellbrook")
    assert messages(values(staff, "whose=residents")) == messages(before) + 1


def test_what_is_really_said_is_counted_as_it_was_meant(staff, site):  # noqa: F811
    """Through the assistant, the record and the figures, as a resident and an officer would."""

    def now(figure: str, *by: str) -> Counter[tuple[str, ...]]:
        found: Counter[tuple[str, ...]] = Counter()
        for row in values(staff, "whose=residents&district=pellbrook"):
            if row["figure"] == figure and row["measure"] != "container named":
                found[tuple(row[b] for b in by)] += int(row["value"])
        return found

    bins, second = ("bins", "item", "meant", "destination"), ("second", "condition", "outcome")
    unknown = ("unknown", "words", "destination")
    before = [now(*which) for which in (bins, second, unknown)]
    told = {"sender": "figures-pizza", "district": "pellbrook"}
    asked = site.answer("does a pizza box go in the bin with the yellow lid", **told)
    assert asked["asks"]["condition"] == "food_origin"
    assert site.answer("takeaway", **told)["items"][0]["destination"] == "residual"
    site.say("where does a didgeridoo go", district="pellbrook")
    after = [now(*which) for which in (bins, second, unknown)]
    assert [+(a - b) for a, b in zip(after, before, strict=True)] == [
        {("pizza_box", "paper_card", "residual"): 1},
        {("food_origin", "settled"): 1},
        {("didgeridoo", "residual"): 1},
    ]


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("from=yesterday", "is no date"),
        ("from=2024-03-02&to=2024-03-01", "ends before it starts"),
        ("district=%3Cscript%3E", "There is no district"),
        ("from=2024-03-01&to=2024-03-28&change=2024-05-01", "days on both sides"),
    ],
)
def test_what_makes_no_sense_is_said_beside_the_form(staff, query, said):  # noqa: F811
    page = staff.page(f"{PATH}?{query}", status=400)
    assert said in page and 'role="alert"' in page and "<form" in page
    assert "<script>" not in page.replace('<script type="module"', "")
    assert staff.request(f"{PATH}/values.csv?{query}")[0] == 400
    assert staff.request(f"{PATH}/report.html?{query}")[0] == 400


def test_report_is_made_once_until_something_is_written(tmp_path):
    from bot.figures.period import Period
    from bot.figures.query import Query
    from rules import load

    book, query = load(), Query(Period(date(2024, 3, 1), date(2024, 3, 28)))
    reports = Reports(tmp_path)
    record = Record(tmp_path)
    first = reports.get(query, book)
    assert reports.get(query, book) is first
    with record.engine.begin() as connection:
        add(connection, [{**asdict(Row(at="2024-03-05T09:00:00+00:00")), **BLANK}])
    second = reports.get(query, book)
    assert second is not first and "1 message in 28 days" in second.report.figures[0].summary


@NEEDS
def test_page_is_accessible_and_fits(officer):  # noqa: F811
    officer.look(prefers_color_scheme="dark")
    see(officer, f"{PATH}?{CHANGE}&whose=demo")
    assert officer.violations() == []
    officer.look()
    fits(officer, f"{PATH}?{CHANGE}&whose=demo")


@NEEDS
def test_officer_compares_around_an_announced_change(officer):  # noqa: F811
    see(officer, PATH)
    officer.one(".asked-form summary").click()
    links = officer.all(".asked-form details a")
    assert [link.text for link in links] == ["1 April 2026", "1 February 2027", "31 March 2027"]
    links[0].click()
    officer.until(lambda: officer.all("#change"), "the comparison is there")
    assert "Before and after 1 April 2026" in officer.one("#change h2").text
    assert officer.one("[name=district]").get_attribute("value") == "pellbrook"


@NEEDS
def test_charts_are_drawn_under_the_pages_policy(officer):  # noqa: F811
    """The policy refuses styles in the markup, so shapes must not need any."""
    officer.size(1280)
    see(officer, f"{PATH}?{CHANGE}&whose=demo")
    drawn = officer.js(
        "return [...document.querySelectorAll('svg.chart')].map((svg) => {"
        " const box = svg.getBoundingClientRect();"
        " const fills = [...svg.querySelectorAll('path')]"
        "   .map((p) => getComputedStyle(p).fill).filter((f) => f !== 'none');"
        " return [box.width, box.height, fills.length]; })"
    )
    assert len(drawn) == len(officer.all(".figure")) - 1
    assert all(width > 200 and height > 60 and fills for width, height, fills in drawn)
