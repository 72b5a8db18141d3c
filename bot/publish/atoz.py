"""The A to Z of a district as one HTML file that needs nothing else."""

from __future__ import annotations

import base64
import hashlib
from datetime import date
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from bot import paths
from bot.publish import drawing
from bot.publish.lines import lines, plain_day, span
from bot.publish.records import record
from rules.model import Book

FOLDER = Path(__file__).parent / "templates"


@cache
def templates() -> Environment:
    """The templates of this folder; what is filled in is escaped."""
    return Environment(
        loader=FileSystemLoader(FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def text_of(name: str) -> str:
    """A style sheet or a script of this folder."""
    return (FOLDER / name).read_text(encoding="utf-8")


@cache
def script() -> str:
    """The search, and what puts it on the page."""
    return text_of("find.js") + text_of("search.js")


def style() -> str:
    """All styles of the page."""
    shared = (paths.WEB / "pages.css").read_text(encoding="utf-8")
    return shared + drawing.style() + text_of("a-to-z.css")


def policy() -> str:
    """The content security policy: the page's own style and script, and no request at all."""
    return (
        f"default-src 'none'; style-src '{mark_of(style())}'; script-src '{mark_of(script())}'; "
        "base-uri 'none'; form-action 'none'"
    )


def mark_of(text: str) -> str:
    """The hash by which a policy allows an inline text."""
    digest = hashlib.sha256(text.encode()).digest()
    return f"sha256-{base64.b64encode(digest).decode()}"


def page(book: Book, district: str, day: date) -> bytes:
    """The page."""
    entries = listed(book, district, day)
    containers = sorted({c.name for c in book.districts[district].containers})
    made = (
        templates()
        .get_template("a-to-z.html")
        .render(
            scheme=book.scheme,
            district=book.districts[district].name,
            day=plain_day(day),
            version=book.version,
            letters=[(k, list(g)) for k, g in groupby(entries, lambda e: letter(e["name"]))],
            count=len(entries),
            drawings=[(slug(n), Markup(drawing.inner(n))) for n in containers],
            box=drawing.BOX,
            slug=slug,
            policy=policy(),
            style=Markup(style()),
            script=Markup(script()),
        )
    )
    return made.encode()


def listed(book: Book, district: str, day: date) -> list[dict[str, Any]]:
    """The items with their lines, by name."""
    out = []
    for item, group in groupby(lines(book, district, day), lambda x: x.item):
        told = [{**record(book, x, day), "span": span(x)} for x in group]
        for one in told:
            one["kind"] = book.destinations[one["destination"]].kind
        sources = list(dict.fromkeys(x["source"] for x in told))
        out.append({"id": item, "name": told[0]["name"], "also": told[0]["also"],
                    "lines": told, "sources": sources})  # fmt: skip
    return out


def letter(name: str) -> str:
    """The heading a name stands under."""
    first = name[:1].upper()
    return first if first.isalpha() else "0–9"


def slug(name: str) -> str:
    """A name as part of an id."""
    return "-".join(name.lower().split())
