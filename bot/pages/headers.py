"""What every response says to the browser, and what wrong requests get."""

from __future__ import annotations

import html
import logging
from typing import Any

from sanic import Sanic, response
from sanic.exceptions import SanicException
from sanic.request import Request
from sanic.response import HTTPResponse

logger = logging.getLogger(__name__)

HEADERS = {
    "content-security-policy": (
        "default-src 'self'; object-src 'none'; base-uri 'none'; form-action 'self'; "
        "frame-ancestors 'self'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}

SAID = {
    400: "This request cannot be read.",
    404: "There is no such page.",
    405: "This address does not take that kind of request.",
    408: "The request took too long to arrive.",
    413: "The body is too large. A message may have 100 kB.",
}
OURS = "Something went wrong on our side."

PAGE = """<!doctype html>
<html lang="en-GB">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>{said}</title><link rel="stylesheet" href="/web/pages.css"></head>
<body><main><h1>{said}</h1><p><a href="/">Go to the chat</a> or
<a href="/items">see the list of items</a>.</p></main></body>
</html>
"""


def install(app: Sanic) -> None:
    """Put the headers on every response, and give errors a plain form."""

    @app.on_response
    async def secure(_: Request, answer: HTTPResponse) -> None:
        for name, value in HEADERS.items():
            answer.headers.setdefault(name, value)
        answer.headers.setdefault("cache-control", "no-store")

    @app.exception(Exception)
    async def wrong(request: Request, error: Exception) -> HTTPResponse:
        status = error.status_code if isinstance(error, SanicException) else 500
        if status >= 500:
            # The route, not the path: some paths hold the secret of a chat.
            where = getattr(request, "uri_template", None) or "An unknown path"
            logger.error("%s %s failed.", request.method, where, exc_info=error)
        said = SAID.get(status, OURS if status >= 500 else str(error))
        headers: dict[str, Any] = dict(getattr(error, "headers", None) or {})
        if request.path.startswith(("/webhooks/", "/api/", "/health", "/panel/api/")):
            return response.json({"error": said}, status=status, headers=headers)
        return response.html(PAGE.format(said=html.escape(said)), status=status, headers=headers)
