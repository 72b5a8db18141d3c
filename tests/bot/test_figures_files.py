"""The report as files: charts, one HTML file, CSV, and the command that writes them."""

from __future__ import annotations

import csv
import io
import re
import subprocess
import sys
from dataclasses import asdict
from datetime import date, datetime, timedelta
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from typer.testing import CliRunner

from bot import paths
from bot.cli import app
from bot.figures.page import charts, figures, saved
from bot.figures.period import Period
from bot.figures.query import Query
from bot.figures.report import Report, made
from bot.figures.values import ALWAYS, FIELDS, safe
from bot.record.store import Record, add
from bot.remarks import Remarks
from rules import load
from tests.bot import browser
from tests.bot import turns_made_up as up
from tests.bot.turns_made_up import Remark, Row, Rows, thing

BOOK = load()
PERIOD = Period(date(2026, 11, 1), date(2026, 11, 28))
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def report() -> Report:
    remarks = [Remark(kind=k, conversation="c1") for k in ("right", "wrong", "right", "missing")]
    query = Query(PERIOD, change=date(2026, 11, 15))
    return made(query, BOOK, Rows(up.made(1200, demo=True)), remarks)


@pytest.fixture(scope="module")
def text(report: Report) -> str:
    return saved(report, BOOK, figures(report))


# ---- charts


def test_every_figure_has_chart_table_and_its_way_of_counting(report, text):
    for figure in report.figures:
        assert figure.chart and figure.rows and figure.how
        section = re.search(rf'<section class="figure" id="{figure.id}".*?</section>', text, re.S)
        assert section, figure.id
        assert section[0].count("<svg") == section[0].count("<table") == 1
        assert (
            f"How it is counted:</strong> {figure.how[:30].replace(chr(39), '&#39;')}" in section[0]
        )


def test_charts_are_named_and_hold_their_letters_as_letters(report):
    for id, chart in charts(report).items():
        root = ElementTree.fromstring(str(chart))
        ids = [e.attrib["id"] for e in root.iter() if "id" in e.attrib]
        assert len(ids) == len(set(ids)) and all(i.startswith(f"chart-{id}-") for i in ids)
        assert root.attrib["role"] == "img"
        told = [
            next(e for e in root.iter() if e.attrib.get("id") == name).text
            for name in root.attrib["aria-labelledby"].split()
        ]
        assert len(told) == 2 and all(told)
        assert len(list(root.iter(f"{SVG}text"))) >= 3
        pointed = set(re.findall(r'(?:url\(|href=")#([^)"]+)', str(chart)))
        assert pointed <= set(ids)


def test_charts_need_no_style_that_the_pages_policy_refuses(report):
    for chart in charts(report).values():
        assert "style" not in str(chart) and "<script" not in str(chart)
        # Every colour is a variable of the style sheet, so that dark screens and print can differ.
        colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', str(chart)))
        assert all(c.startswith(("var(--chart-", "url(", "none")) for c in colours), colours
        assert set(re.findall(r"var\((--[a-z0-9-]+)", str(chart))) <= set(
            re.findall(r"(--chart-[a-z0-9-]+):", (paths.WEB / "figures.css").read_text())
        )


def test_series_differ_without_colour(report):
    (legend,) = {str(c) for id, c in charts(report).items() if id == "items"}
    fills = re.findall(r'fill="(var\([^"]+|url\([^"]+)"', legend)
    assert len({f for f in fills if f.startswith("url")}) >= 3


def test_words_of_residents_are_letters_and_no_markup_or_formula(text, report):
    chart = str(charts(report)["unknown"])
    root = ElementTree.fromstring(chart)
    assert "<b>lyre</b> $x$" in {e.text for e in root.iter(f"{SVG}text")}
    assert "<b>lyre" not in text and "&lt;b&gt;lyre" in text


@pytest.mark.parametrize(
    "said", ["$", "$$", "a$b$c", "\\alpha $\\frac$", "{", "☃ 漢字", "\x00\x1b[1m"]
)
def test_no_word_stops_a_chart(said):
    rows = [Row(items=[thing(None, "residual", said)])]
    found = made(Query(PERIOD), BOOK, Rows(rows), [])
    assert charts(found)["unknown"]


# ---- one HTML file


class Reader(HTMLParser):
    """Names and addresses in a file."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.wanted: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.wanted += [v or "" for k, v in attrs if k in ("src", "href", "data", "action")]


def test_saved_file_asks_for_nothing_and_runs_nothing(text):
    reader = Reader()
    reader.feed(text)
    assert not {"script", "link", "img", "iframe", "object", "form"} & set(reader.tags)
    assert all(address.startswith("#") for address in reader.wanted)
    assert "@import" not in text and "url(http" not in text and "font-face" not in text


def test_saved_file_is_the_same_from_another_process(tmp_path, report, text):
    program = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from tests.bot.test_figures_files import *\n"
        "r = made(Query(PERIOD, change=date(2026, 11, 15)), BOOK, Rows(up.made(1200, demo=True)),"
        " [Remark(kind=k, conversation='c1') for k in ('right', 'wrong', 'right', 'missing')])\n"
        "sys.stdout.write(saved(r, BOOK, figures(r)))"
    )
    other = subprocess.run(
        [sys.executable, "-c", program, str(paths.PROJECT)],
        capture_output=True,
        text=True,
        check=True,
        cwd=tmp_path,
        env={"PYTHONHASHSEED": "5", "TZ": "Pacific/Auckland", "PATH": "", "HOME": str(tmp_path)},
    )
    assert other.stdout == text


@pytest.mark.skipif(bool(browser.missing()), reason=f"{browser.missing()} is not installed")
def test_saved_file_in_a_browser(tmp_path_factory, text):
    folder = tmp_path_factory.mktemp("saved")
    (folder / "report.html").write_text(text, encoding="utf-8")
    driver = browser.start(folder / "profile")
    try:
        page = browser.Page(driver, f"file://{folder}")
        for width in (360, 1280):
            for scheme in ("light", "dark"):
                page.size(width)
                page.look(prefers_color_scheme=scheme)
                driver.get(f"file://{folder}/report.html")
                assert page.violations() == [] and page.too_wide() <= 0
        assert page.hosts() == set() and page.complaints() == []
        printed = driver.execute_cdp_cmd("Page.printToPDF", {"printBackground": False})
        assert len(printed["data"]) > 20_000
    finally:
        driver.quit()


# ---- CSV


def test_csv_is_one_tidy_table(report):
    raw = report.csv()
    # RFC 4180: CRLF ends each line, every line has as many fields.
    assert raw.endswith("\r\n") and "\n" not in raw.replace("\r\n", "")
    rows = list(csv.reader(io.StringIO(raw, newline=""), strict=True))
    assert rows[0] == [*ALWAYS, *FIELDS]
    assert {len(row) for row in rows} == {len(rows[0])}
    told = list(csv.DictReader(io.StringIO(raw, newline="")))
    assert {row["figure"] for row in told} == {f.id for f in report.figures}
    assert all(float(row["value"]) >= -1 for row in told)
    assert {row["traffic"] for row in told} == {"demo"}


@pytest.mark.parametrize(
    "cell", ["=1+1", "+44", "-2+3", "@SUM(A1)", "\tx", "\rx", "=cmd|' /C calc'!A0"]
)
def test_no_word_becomes_a_formula(cell):
    # The signs are those of OWASP's page "CSV Injection" (from memory).
    assert safe(cell) == "'" + cell and safe(-0.25) == -0.25 and safe("a=b") == "a=b"
    rows = [Row(items=[thing(None, "residual", cell)])]
    raw = made(Query(PERIOD), BOOK, Rows(rows), []).csv()
    for row in csv.reader(io.StringIO(raw, newline="")):
        assert not any(re.match(r"[=+@\t\r-]", c) for c in row if not re.fullmatch(r"-?[\d.]+", c))


# ---- the command


@pytest.fixture
def data(tmp_path: Path) -> Path:
    record = Record(tmp_path)
    blank = {"turn": None, "question": None, "intent": "", "confidence": 1.0, "book": None}
    with record.engine.begin() as connection:
        add(connection, [{**asdict(row), **blank} for row in up.made(300, demo=True)])
    Remarks(tmp_path / "remarks.db").add("right", channel="sms", conversation="of old", question="")
    return tmp_path


def lidwise(*arguments: str | Path) -> tuple[int, str]:
    found = CliRunner().invoke(app, ["report", *map(str, arguments)])
    return found.exit_code, found.output


def test_command_reads_the_record_and_writes_both_files(data, tmp_path):
    page, table = tmp_path / "r.html", tmp_path / "r.csv"
    days = ("--from", "2026-11-01", "--to", "2026-11-28", "--change", "2026-11-15")
    code, out = lidwise(*days, "--html", page, "--csv", table, "-d", data)
    assert code == 0 and f"Saved: {page}" in out
    expected = made(
        Query(PERIOD, change=date(2026, 11, 15)), BOOK, Rows(up.made(300, demo=True)), []
    )
    assert table.read_bytes().decode() == expected.csv()
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    assert "What people ask about most" in out and "How it is counted: " in out


def test_command_counts_remarks_and_one_district(data):
    yesterday = datetime.now().date() - timedelta(days=1)
    code, out = lidwise("--from", yesterday, "--residents", "--district", "Oxmere", "-d", data)
    assert code == 0 and "District: Oxmere" in out and "Nobody asked anything" in out
    code, out = lidwise("--from", yesterday, "--residents", "-d", data)
    assert "1 remark; right: 100%" in out


def test_command_says_what_is_wrong(data, tmp_path):
    assert lidwise("--from", "soon", "-d", data) == (
        1,
        "The first day, 'soon', is no date. Write it as year-month-day: 2027-02-10.\n",
    )
    code, out = lidwise("-d", tmp_path / "empty")
    assert code == 1 and "No conversation is kept in" in out
    assert not (tmp_path / "empty").exists()
    code, out = lidwise("--csv", tmp_path / "no" / "where.csv", "-d", data)
    assert code == 1 and "cannot be written" in out
