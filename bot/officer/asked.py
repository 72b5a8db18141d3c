"""What people ask: the report as a page, as one file, and as a table for spreadsheets."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from datetime import timedelta
from typing import Any
from urllib.parse import urlencode

from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot.access.guard import required
from bot.figures import page, words
from bot.figures.period import today
from bot.figures.query import Query, asked
from bot.figures.shelf import Ready, Reports
from bot.officer.shell import shown
from bot.processes import Failed
from rules.model import Book

pages = Blueprint("officer-asked", url_prefix="/officer/asked")

WHOSE = {"": None, "residents": False, "demo": True}
AROUND = timedelta(days=28)
"""Days on either side of an announced change that its link compares."""
PERIODS = (7, 28, 91, 365)


@pages.get("/")
@required("officer")
async def report(request: Request) -> HTTPResponse:
    """The form and the report."""
    book = SHELF.current()
    typed = {name: request.args.get(name) or "" for name in FIELDS}
    told: dict[str, Any] = {"typed": typed, "trouble": "", "ready": None, "query": None}
    try:
        told["query"], told["ready"] = await ready(request)
    except Failed as failed:
        told["trouble"] = str(failed)
    return shown(
        request,
        "asked.html",
        here="asked",
        title=page.TITLE,
        status=400 if told["trouble"] else 200,
        about=page.about(told["ready"].report) if told["ready"] else "",
        channels=channels(told["ready"], typed["channel"]),
        saved=urlencode({name: value for name, value in typed.items() if value}),
        lately=[(f"Last {n} days", lately(n)) for n in PERIODS],
        announced=announced(book),
        **told,
    )


@pages.get("/report.html")
@required("officer")
async def file(request: Request) -> HTTPResponse:
    """The report as one file that needs nothing else."""
    try:
        query, found = await ready(request)
    except Failed as failed:
        return response.text(str(failed), status=400)
    text = page.saved(found.report, SHELF.current(), found.figures)
    return download(text, "text/html; charset=utf-8", f"{name_of(query)}.html")


@pages.get("/values.csv")
@required("officer")
async def table(request: Request) -> HTTPResponse:
    """All values of the report as CSV."""
    try:
        query, found = await ready(request)
    except Failed as failed:
        return response.text(str(failed), status=400)
    return download(found.report.csv(), "text/csv; charset=utf-8", f"{name_of(query)}.csv")


FIELDS = ("from", "to", "district", "channel", "change", "whose")


async def ready(request: Request) -> tuple[Query, Ready]:
    """The report a request is about. Raises `Failed` if what was typed makes no sense."""
    typed: Mapping[str, str] = {name: request.args.get(name) or "" for name in FIELDS}
    book = SHELF.current()
    query = asked(
        book,
        typed["from"],
        typed["to"],
        typed["district"],
        typed["channel"],
        typed["change"],
        WHOSE.get(typed["whose"]),
    )
    reports = request.app.ctx.__dict__.setdefault("reports", Reports(request.app.ctx.data))
    loop = asyncio.get_running_loop()
    return query, await loop.run_in_executor(None, reports.get, query, book)


def channels(found: Ready | None, typed: str) -> list[tuple[str, str]]:
    """The channels to choose from, by code: those known, and any the period has besides."""
    there = found.report.channels if found else ()
    codes = dict.fromkeys((*words.CHANNELS, *there, *([typed] if typed else [])))
    return [(code, words.channel(code)) for code in codes]


def lately(days: int) -> str:
    """The address of the report for the last days."""
    last = today()
    return urlencode({"from": last - timedelta(days=days - 1), "to": last})


def announced(book: Book) -> list[tuple[str, str, str]]:
    """The changes of the rule book: the day, what it says, and the address that compares."""
    found = []
    for change in sorted(book.changes.values(), key=lambda c: (c.on, c.id)):
        address = {
            "from": change.on - AROUND,
            "to": change.on + AROUND - timedelta(days=1),
            "change": change.on,
        }
        if len(change.districts) == 1:
            address["district"] = change.districts[0]
        found.append((change.on.isoformat(), change.answer, urlencode(address)))
    return found


def name_of(query: Query) -> str:
    """The name of a downloaded file."""
    parts = ["what-people-ask", str(query.period.start), str(query.period.end), query.district]
    return "-".join(part for part in parts if part)


def download(text: str, kind: str, name: str) -> HTTPResponse:
    """A file to save."""
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return response.raw(text.encode(), content_type=kind, headers=headers)
