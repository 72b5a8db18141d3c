"""The chat page. Without JavaScript it is the list of all items, there and then.

The list stands in a `<noscript>`: a browser that runs scripts reads past it and makes nothing of
it, and compressed it is 25 kB.
"""

from __future__ import annotations

import asyncio
import gzip
import html
from dataclasses import dataclass
from datetime import date

from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot import paths
from bot.pages import items
from bot.pages.assets import has, tag_of
from rules.model import Book

pages = Blueprint("front")

CACHE: dict[tuple[str, str, str | None, date], Front] = {}
"""Pages by template, rule book, district and day."""
CACHED = 8


@dataclass(frozen=True, slots=True)
class Front:
    """A page as it is sent."""

    plain: bytes
    packed: bytes
    tag: str


@pages.route("/", methods=["GET", "HEAD"])
async def chat(request: Request) -> HTTPResponse:
    """The chat page, with the list for the district named in the address, or for all."""
    book = SHELF.current()
    named = request.args.get("district")
    district = named if named in book.districts else None
    page = await made(book, district, items.asked_day(request))
    packed = "gzip" in request.headers.get("accept-encoding", "")
    tag = f'"z{page.tag[1:]}' if packed else page.tag
    headers = {"etag": tag, "cache-control": "no-cache", "vary": "accept-encoding"}
    if has(request, tag):
        return response.empty(304, headers=headers)
    if packed:
        headers["content-encoding"] = "gzip"
    body = page.packed if packed else page.plain
    return response.raw(body, content_type="text/html; charset=utf-8", headers=headers)


async def made(book: Book, district: str | None, day: date) -> Front:
    """The page, from the store if it is there; a list takes most of a second to make."""
    template = (paths.WEB / "index.html").read_text(encoding="utf-8")
    key = tag_of(template.encode()), book.version, district, day
    page = CACHE.get(key)
    if page is None:
        loop = asyncio.get_running_loop()
        page = await loop.run_in_executor(None, fill, template, book, district, day)
        while len(CACHE) >= CACHED:
            CACHE.pop(next(iter(CACHE)))
        CACHE[key] = page
    return page


def fill(template: str, book: Book, district: str | None, day: date) -> Front:
    """The template with the scheme's name, its telephone number and the list filled in."""
    links = [(f"/?district={d}" if d else "/", d) for d in (None, *book.districts)]
    place = book.districts[district].name if district else "each district"
    phone = book.scheme.phone
    parts = {
        "scheme": html.escape(book.scheme.name),
        "phone": html.escape(phone),
        "dial": html.escape(phone.replace(" ", "")),
        "place": html.escape(place),
        "day": f"{day.day} {day:%B %Y}",
        "districts": items.choices(book, links, district, day),
        "list": items.body(book, district, day, "h3"),
    }
    for name, text in parts.items():
        template = template.replace(f"[[{name}]]", text)
    body = template.encode()
    return Front(body, gzip.compress(body, 6, mtime=0), tag_of(body))
