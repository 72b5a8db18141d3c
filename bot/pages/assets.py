"""The web pages' files."""

from __future__ import annotations

import hashlib
from pathlib import Path

from sanic import Blueprint, response
from sanic.exceptions import NotFound
from sanic.request import Request
from sanic.response import HTTPResponse

from bot import paths

TYPES = {
    ".css": "text/css; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}

pages = Blueprint("assets")


def served(request: Request, path: Path) -> HTTPResponse:
    """A file, or the word that the browser has it already."""
    body = path.read_bytes()
    headers = {"etag": tag_of(body), "cache-control": "no-cache"}
    if has(request, headers["etag"]):
        return response.empty(304, headers=headers)
    return response.raw(body, content_type=TYPES[path.suffix], headers=headers)


def tag_of(body: bytes) -> str:
    """The entity tag of a body."""
    return f'"{hashlib.sha256(body).hexdigest()[:20]}"'


def has(request: Request, tag: str) -> bool:
    """Whether the browser says it has the body with this tag."""
    known = request.headers.get("if-none-match", "").split(",")
    return tag in [one.strip().removeprefix("W/") for one in known]


@pages.route("/favicon.ico", methods=["GET", "HEAD"])
async def icon(request: Request) -> HTTPResponse:
    """The mark, for browsers that look for it where it always was."""
    return served(request, paths.WEB / "mark.svg")


@pages.route("/embed-demo", methods=["GET", "HEAD"])
async def demo(request: Request) -> HTTPResponse:
    """An invented council page with the widget on it, to try the script tag."""
    return served(request, paths.WEB / "embed-demo.html")


@pages.route("/web/<name:str>", methods=["GET", "HEAD"])
async def asset(request: Request, name: str) -> HTTPResponse:
    """One of the page's files; only what lies in the folder itself has a name here."""
    there = {p.name: p for p in paths.WEB.iterdir() if p.is_file() and p.suffix in TYPES}
    if name not in there:
        raise NotFound("There is no such page.")
    return served(request, there[name])
