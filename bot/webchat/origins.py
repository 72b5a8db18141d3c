"""Which other sites' pages may use the chat: cross-origin resource sharing, WHATWG Fetch standard.

Only the listed paths are open, and only to the listed origins; nothing is ever sent with cookies,
since there are none.
"""

from __future__ import annotations

import ipaddress
from urllib.parse import urlsplit

from sanic import Sanic, response
from sanic.request import Request
from sanic.response import HTTPResponse

from bot.webchat.options import Options

OPEN = {
    "/webhooks/rest/webhook": "POST",
    "/api/districts": "GET",
    "/api/remarks": "POST",
    "/api/person": "GET, POST",
    "/api/person/<token:str>": "GET, POST, DELETE",
}
"""Paths that a page of another site may ask, and how."""
PERSON = "/api/person/"
WIDGET = frozenset(
    {
        *("embed.js", "widget.js", "widget.css", "chat.css", "swatch.css", "mark.svg"),
        *("chat.js", "skeleton.js", "log.js", "queue.js", "composer.js", "district.js"),
        *("verdict.js", "store.js", "cards.js", "facts.js", "repeats.js", "swatch.js"),
        *("words.js", "dom.js", "sheet.js", "person.js", "person-button.js"),
    }
)
"""Files in the web folder that the widget loads on another site's page."""
PREFLIGHT = 600
"""Seconds for which a browser may remember what it was allowed."""


def loopback(host: str | None) -> bool:
    """Whether a host name means this machine itself."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host or "").is_loopback
    except ValueError:
        return False


def same(request: Request, origin: str) -> bool:
    """Whether the page that asks is one of ours."""
    return urlsplit(origin).netloc == request.headers.get("host", "").lower()


def allowed(request: Request, options: Options) -> str | None:
    """The value that lets the asking page read the response, or `None` if it may not."""
    origin = request.headers.get("origin", "").lower()
    if not origin or origin == "null":
        return "*" if options.origins and "*" in options.origins else None
    if options.origins is None:
        here = urlsplit("//" + request.headers.get("host", "")).hostname
        local = loopback(here) and loopback(urlsplit(origin).hostname)
        return origin if local or same(request, origin) else None
    if "*" in options.origins:
        return "*"
    return origin if origin in options.origins or same(request, origin) else None


def welcome(request: Request, options: Options) -> bool:
    """Whether a page may write here. A program that names no origin is no page."""
    origin = request.headers.get("origin")
    return origin is None or allowed(request, options) is not None


def shared(path: str) -> bool:
    """Whether a path is meant for other sites' pages too."""
    return path in OPEN or path.startswith(PERSON) or path.removeprefix("/web/") in WIDGET


def install(app: Sanic, options: Options) -> None:
    """Answer preflights, and mark the responses other sites' pages may read."""

    async def preflight(request: Request, **_: str) -> HTTPResponse:
        answer = response.empty(204)
        if allowed(request, options):
            path = PERSON + "<token:str>" if request.path.startswith(PERSON) else request.path
            answer.headers["access-control-allow-methods"] = OPEN[path]
            answer.headers["access-control-allow-headers"] = "content-type, accept"
            answer.headers["access-control-max-age"] = str(PREFLIGHT)
        return answer

    for number, path in enumerate(OPEN):
        app.add_route(preflight, path, methods=["OPTIONS"], name=f"preflight_{number}")

    @app.on_response
    async def share(request: Request, answer: HTTPResponse) -> None:
        if not shared(request.path):
            return
        answer.headers["vary"] = "Origin"
        answer.headers["cross-origin-resource-policy"] = "cross-origin"
        origin = allowed(request, options)
        if origin:
            answer.headers["access-control-allow-origin"] = origin
