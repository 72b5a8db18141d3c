"""The officer's page for publishing: what there is to hand out, and whether it is still right."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot.access.guard import required
from bot.officer.shell import back, shown
from bot.processes import Failed
from bot.publish import faq, files, noted, routes, tags
from bot.record import books
from rules.model import Book

pages = Blueprint("officer-publish", url_prefix="/officer/publish")

ZIPS: dict[tuple[str, date], tuple[bytes, dict[str, str]]] = {}
"""The last zip made, with the hashes of its files: it takes some seconds."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What was published last, and which districts would be told something else now. `kept` says
    whether its rules can still be compared with others."""

    last: noted.Noted | None
    stale: tuple[str, ...]
    kept: bool = False


def asked(request: Request, book: Book) -> tuple[date, str]:
    """The day asked for, and what is wrong with it; then it is today."""
    told = (request.args.get("on") or (request.form or {}).get("on") or "").strip()
    if not told:
        return date.today(), ""
    try:
        day = date.fromisoformat(told)
    except ValueError:
        return date.today(), f"“{told[:40]}” is no date. Write it as year-month-day: 2027-02-10."
    if day < book.scheme.starts:
        return date.today(), f"The rules begin on {book.scheme.starts}."
    return day, ""


@pages.get("/")
@required("officer")
async def page(request: Request) -> HTTPResponse:
    """The files of a day, and how what was published last compares with today's rules."""
    book = SHELF.current()
    day, wrong = asked(request, book)
    loop = asyncio.get_running_loop()
    standing = await loop.run_in_executor(None, compared, request.app.ctx.data, book)
    copies, trouble = await loop.run_in_executor(None, to_copy, book, day)
    trouble = trouble or await too_full(book, day)
    query = "" if day == date.today() else f"?on={day}"
    return shown(
        request,
        "publish.html",
        here="publish",
        title="Publish",
        day=day,
        wrong=wrong,
        query=query,
        districts=[
            {
                "id": d.id,
                "name": d.name,
                "files": [(k.id, k.title, "/" + address(k, d.id) + query) for k in files.KINDS],
                "copies": copies.get(d.id),
            }
            for d in book.districts.values()
        ],
        trouble=trouble,
        standing=standing,
        stale=[book.districts[d].name for d in standing.stale],
    )


async def too_full(book: Book, day: date) -> str:
    """What is wrong with a printed guide, or nothing. The guides made here are then served."""
    for district in book.districts:
        try:
            await routes.made(book, day, f"guide/{district}.pdf")
        except Failed as failed:
            return str(failed)
        except routes.Busy:
            break
    return ""


def address(kind: files.Kind, district: str) -> str:
    """Where a file is served."""
    return kind.of(district).removesuffix(".html")


def compared(data: Path, book: Book) -> Standing:
    """How what was published last stands to the rules in force, on the day it was made for if that
    is still to come."""
    last = noted.last(data)
    if last is None:
        return Standing(None, ())
    day = max(date.today(), last.on)
    if (last.rules, last.on) == (book.version, day) and set(last.answers) == set(book.districts):
        return Standing(last, ())
    stale = tuple(noted.stale(book, last, day))
    return Standing(last, stale, kept=was_kept(data, last.rules))


def was_kept(data: Path, version: str) -> bool:
    """Whether the rules of a version are kept."""
    try:
        return books.path_of(data, version).exists()
    except Failed:
        return False


def to_copy(book: Book, day: date) -> tuple[dict[str, dict[str, str]], str]:
    """The texts to copy, by district; and why there are none."""
    try:
        return {
            d: {
                "faq": faq.snippet(faq.faq(book, d, day)),
                "tags": tags.text(book, d, day),
            }
            for d in book.districts
        }, ""
    except Failed as failed:
        return {}, str(failed)


def zipped(book: Book, day: date) -> tuple[bytes, dict[str, str]]:
    """All files as one zip with their manifest, and their hashes. Raises `Failed`."""
    key = book.version, day
    there = ZIPS.get(key)
    if there is None:
        made = files.files(book, day)
        listed = files.sums(made)
        made[files.MANIFEST] = files.manifest(book, day, list(book.districts), listed)
        whole = files.packed(made), listed
        ZIPS.clear()
        ZIPS[key] = whole
        return whole
    return there


@pages.get("/all.zip")
@required("officer")
async def everything(request: Request) -> HTTPResponse:
    """All files of a day in one."""
    book = SHELF.current()
    day, wrong = asked(request, book)
    if wrong:
        return back(request, "/officer/publish", said=wrong)
    try:
        body, _ = await asyncio.get_running_loop().run_in_executor(None, zipped, book, day)
    except Failed as failed:
        return back(request, "/officer/publish", said=str(failed))
    name = f"lidwise-{day}-{book.version}.zip"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return response.raw(body, content_type="application/zip", headers=headers)


@pages.post("/noted")
@required("officer")
async def put_out(request: Request) -> HTTPResponse:
    """Note that the files of a day, of the rules the officer saw, were handed out."""
    book = SHELF.current()
    day, wrong = asked(request, book)
    seen = (request.form or {}).get("rules")
    if wrong or seen != book.version:
        told = wrong or "The rules changed since you opened this page. Look at the files again."
        return back(request, "/officer/publish", said=f"{told} Nothing was noted.")
    loop = asyncio.get_running_loop()
    try:
        _, listed = await loop.run_in_executor(None, zipped, book, day)
    except Failed as failed:
        return back(request, "/officer/publish", said=str(failed))
    await loop.run_in_executor(
        None, noted.note, request.app.ctx.data, book, day, list(book.districts), listed,
        request.ctx.who.name,
    )  # fmt: skip
    return back(request, "/officer/publish", said="Noted as published.")
