"""What is published, from the rules in force, for anyone: /a-to-z, /guide, /faq and /tags."""

from __future__ import annotations

import asyncio
import gzip
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date

from sanic import Blueprint, response
from sanic.exceptions import NotFound
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot.pages.assets import has, tag_of
from bot.pages.items import asked_day
from bot.processes import Failed
from bot.publish import atoz, files, records
from rules.model import Book

pages = Blueprint("published")

CACHED = 32
"""Files kept: four days of all of three districts' public ones."""
WAITING = 24
"""Files that may wait to be made: more than all of one day."""
WORKER = ThreadPoolExecutor(1, "publish")
"""Files are made one after another, so that whoever chats meanwhile is not slowed by more."""
PACKED = ("text/", "application/json")


class Busy(Exception):
    """More files are asked for than can be made soon."""


@dataclass(frozen=True, slots=True)
class Made:
    """A file as it is sent."""

    plain: bytes
    packed: bytes | None
    tag: str


Key = tuple[str, date, str]
MADE: dict[Key, asyncio.Future[Made]] = {}
"""Files by rules, day and path; one that is being made is waited for by all who ask."""


def paths_of(book: Book) -> dict[str, tuple[files.Kind, str]]:
    """Each path with the kind of file and the district."""
    return {kind.of(d): (kind, d) for kind in files.KINDS for d in book.districts}


async def made(book: Book, day: date, path: str) -> Made:
    """A file, from the store if it is there. Raises `Failed` if it cannot be made, and `Busy` if
    too many wait."""
    key = book.version, day, path
    task = MADE.get(key)
    if task is None:
        if sum(not t.done() for t in MADE.values()) >= WAITING:
            raise Busy
        while len(MADE) >= CACHED:
            MADE.pop(next(iter(MADE)))
        loop = asyncio.get_running_loop()
        task = MADE[key] = loop.run_in_executor(WORKER, make, book, day, path)
    try:
        return await asyncio.shield(task)
    except BaseException:
        if task.done():
            MADE.pop(key, None)
        raise


def make(book: Book, day: date, path: str) -> Made:
    """Make a file."""
    kind, district = paths_of(book)[path]
    body = kind.make(book, district, max(day, book.scheme.starts))
    packed = gzip.compress(body, 6, mtime=0) if kind.type.startswith(PACKED) else None
    return Made(body, packed, tag_of(body))


async def sent(request: Request, path: str) -> HTTPResponse:
    """The answer to a request for a file."""
    book = SHELF.current()
    known = paths_of(book)
    if path not in known:
        raise NotFound("There is no such page.")
    kind, _ = known[path]
    try:
        file = await made(book, asked_day(request), path)
    except Failed as failed:
        raise NotFound(str(failed)) from None
    except Busy:
        said = "Too much is asked for at once. Please try again in a minute."
        return response.text(said, status=503, headers={"retry-after": "60"})
    return reply(request, file, kind.type, path.rsplit("/", 1)[1], kind.id)


def reply(request: Request, file: Made, type_: str, name: str, kind: str) -> HTTPResponse:
    """A file with its headers, or the word that the browser has it already."""
    packed = file.packed is not None and "gzip" in request.headers.get("accept-encoding", "")
    tag = f'"z{file.tag[1:]}' if packed else file.tag
    headers = {"etag": tag, "cache-control": "no-cache", "vary": "accept-encoding"}
    if kind == "a-to-z":
        headers["content-security-policy"] = f"{atoz.policy()}; frame-ancestors 'self'"
    else:
        shown = "attachment" if kind == "csv" else "inline"
        headers["content-disposition"] = f'{shown}; filename="{kind}-{name}"'
    if has(request, tag):
        return response.empty(304, headers=headers)
    if packed and file.packed is not None:
        return response.raw(
            file.packed, content_type=type_, headers={**headers, "content-encoding": "gzip"}
        )
    return response.raw(file.plain, content_type=type_, headers=headers)


@pages.route("/a-to-z/<name:str>", methods=["GET", "HEAD"])
async def list_of(request: Request, name: str) -> HTTPResponse:
    """The A to Z: a district's page, or its CSV or JSON, or the form of the JSON."""
    if name == records.SCHEMA.name:
        body = records.SCHEMA.read_bytes()
        return reply(request, Made(body, None, tag_of(body)), files.JSON, name, "schema")
    return await sent(request, f"a-to-z/{name if '.' in name else f'{name}.html'}")


@pages.route("/guide/<name:str>", methods=["GET", "HEAD"])
async def guide(request: Request, name: str) -> HTTPResponse:
    """A district's printed guide."""
    return await sent(request, f"guide/{name}")


@pages.route("/faq/<name:str>", methods=["GET", "HEAD"])
async def questions(request: Request, name: str) -> HTTPResponse:
    """A district's questions for the council's page."""
    return await sent(request, f"faq/{name}")


@pages.route("/tags/<name:str>", methods=["GET", "HEAD"])
async def tags(request: Request, name: str) -> HTTPResponse:
    """A district's bin tags."""
    return await sent(request, f"tags/{name}")
