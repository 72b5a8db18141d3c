"""The officer's page that tells what differs between two sets of rules, or two days."""

from __future__ import annotations

import asyncio
import json
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot.access.guard import required
from bot.compare.sides import Side, compared
from bot.officer.shell import shown
from bot.processes import Failed
from bot.record import books
from rules.compare import Comparison
from rules.compare.words import LABELS, day
from rules.loader import BookError
from rules.model import Book

pages = Blueprint("officer-compare", url_prefix="/officer/compare")

FORCE = "force"
"""What stands for the rules in force in an address."""
MOST = 50
"""Kept books that the page offers."""
KEPT = 6
"""Comparisons that are kept, since a page is often followed by its download."""

FIELDS = ("old", "new", "old_on", "new_on", "district")


@dataclass(frozen=True, slots=True)
class Asked:
    """What a form asks for; a day of `None` stands for every day."""

    old: str
    new: str
    old_on: date | None
    new_on: date | None
    district: str | None

    def query(self) -> str:
        """The same as part of an address."""
        told = {
            "old": self.old,
            "new": self.new,
            "old_on": self.old_on,
            "new_on": self.new_on,
            "district": self.district,
        }
        return urlencode({k: v for k, v in told.items() if v})


class Desk:
    """Makes comparisons one at a time, beside the pages, and keeps the last few."""

    def __init__(self) -> None:
        self.lock = asyncio.Lock()
        self.kept: OrderedDict[Any, Comparison] = OrderedDict()

    async def get(self, asked: Asked, data: Path) -> Comparison:
        """A comparison. Raises `Failed` if a book is not kept or cannot be used."""
        force = SHELF.current()
        key = asked, force.version, date.today()
        async with self.lock:
            if key not in self.kept:
                loop = asyncio.get_running_loop()
                self.kept[key] = await loop.run_in_executor(None, made, asked, force, data)
                while len(self.kept) > KEPT:
                    self.kept.popitem(last=False)
            return self.kept[key]


def desk(request: Request) -> Desk:
    """The app's desk. It is made in the app's own event loop."""
    if not hasattr(request.app.ctx, "comparing"):
        request.app.ctx.comparing = Desk()
    found: Desk = request.app.ctx.comparing
    return found


def made(asked: Asked, force: Book, data: Path) -> Comparison:
    """Make a comparison. Takes a second or more. Raises `Failed`."""
    sides = [
        Side(name, book_of(name, force, data), on)
        for name, on in ((asked.old, asked.old_on), (asked.new, asked.new_on))
    ]
    return compared(*sides, on=None, since=date.today(), district=asked.district, item=None)


def book_of(name: str, force: Book, data: Path) -> Book:
    """A book by its version. Raises `Failed`."""
    if name in (FORCE, force.version):
        return force
    try:
        return books.book_of(data, name)
    except BookError:
        raise Failed(f"The kept book {name} cannot be read by this version of lidwise.") from None


def asked_by(request: Request, known: Mapping[str, str]) -> Asked:
    """What the address asks for. Raises `Failed` with what to mend."""
    args = request.args
    others = [k for k in known if k != FORCE]
    names = args.get("old") or (others[0] if others else FORCE), args.get("new") or FORCE
    for name in names:
        if name not in known:
            raise Failed("One of these rule books is not kept any more. Choose another one.")
    days = day_of(args.get("old_on")), day_of(args.get("new_on"))
    district = args.get("district") or None
    if district is not None and district not in SHELF.current().districts:
        raise Failed("There is no such district any more. Choose another one.")
    return Asked(*names, *days, district)


def day_of(text: str | None) -> date | None:
    """A day of the form. Raises `Failed` for what is none."""
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise Failed("One of the days is not a date. Write it like 2027-02-10.") from None


def offered(data: Path) -> dict[str, str]:
    """The books to choose from, by what stands for each in an address."""
    force = SHELF.current().version
    out = {FORCE: f"The rules in force ({force})"}
    for kept in books.versions(data)[: MOST + 1]:
        if kept.version != force:
            since = f"{day(kept.since.date())}, {kept.since:%H:%M} UTC"
            out[kept.version] = f"In force from {since} ({kept.version})"
    return out


def days_ahead(book: Book) -> list[dict[str, str]]:
    """Each day ahead on which an answer of the rules in force changes, with its comparison."""
    out = []
    for turn in book.turning_days():
        if turn > date.today():
            asked = Asked(FORCE, FORCE, turn - timedelta(days=1), turn, None)
            out.append({"day": day(turn), "query": asked.query()})
    return out


@pages.get("/")
@required("officer")
async def page(request: Request) -> HTTPResponse:
    """The form, and the comparison it asks for."""
    data: Path = request.app.ctx.data
    loop = asyncio.get_running_loop()
    known = await loop.run_in_executor(None, offered, data)
    context: dict[str, Any] = {
        "known": known,
        "ahead": days_ahead(SHELF.current()),
        "labels": LABELS,
        "told": None,
        "trouble": "",
        "form": {name: request.args.get(name) or "" for name in FIELDS},
        "query": "",
        "districts": SHELF.current().districts,
    }
    status = 200
    try:
        asked = asked_by(request, known)
        context["form"] |= {"old": asked.old, "new": asked.new}
        if request.args:
            context["told"] = await desk(request).get(asked, data)
            context["query"] = asked.query()
    except Failed as failed:
        context["trouble"], status = str(failed), 400
    return shown(request, "compare.html", here="compare", title="Compare", status=status, **context)


@pages.get("/comparison.json")
@required("officer")
async def download(request: Request) -> HTTPResponse:
    """The comparison as JSON, in the shape of `rules/comparison.schema.json`."""
    data: Path = request.app.ctx.data
    loop = asyncio.get_running_loop()
    try:
        asked = asked_by(request, await loop.run_in_executor(None, offered, data))
        told = await desk(request).get(asked, data)
    except Failed as failed:
        return response.json({"error": str(failed)}, status=400)
    body = json.dumps(told.to_json(), ensure_ascii=False, indent=1)
    return response.raw(
        body.encode(),
        content_type="application/json",
        headers={"content-disposition": 'attachment; filename="comparison.json"'},
    )
