"""What a program can ask of the server: the districts, and how each part is."""

from __future__ import annotations

import asyncio
import json
import os
from datetime import date
from pathlib import Path
from typing import Any

import aiohttp
from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF, VARIABLE

pages = Blueprint("state")

STATUS = "book-status.json"
"""File beside the stored book in which the watcher tells how the rule files are."""


@pages.get("/api/districts")
async def districts(_: Request) -> HTTPResponse:
    """The districts, the day, and whom to call."""
    book = SHELF.current()
    scheme = book.scheme
    return response.json(
        {
            "districts": [{"id": d.id, "name": d.name} for d in book.districts.values()],
            "today": date.today().isoformat(),
            "scheme": {
                "name": scheme.name,
                "phone": scheme.phone,
                "hours": scheme.hours,
                "web": scheme.web,
            },
        },
        headers={"cache-control": "no-cache"},
    )


@pages.get("/health")
async def health(request: Request) -> HTTPResponse:
    """How each part is; status 503 if one that is needed for an answer is not well."""
    agent = request.app.ctx.agent
    parts = {
        "model": model(agent, request.app.ctx.model),
        "actions": await actions(agent),
        "store": store(agent),
    }
    well = all(part["state"] == "ok" for part in parts.values())
    told = {"status": "ok" if well else "failing", **parts, "book": book()}
    if hasattr(request.app.ctx, "sms"):
        told["sms"] = request.app.ctx.sms.state()
    return response.json(told, status=200 if well else 503)


def model(agent: Any, path: Path) -> dict[str, Any]:
    """The language model."""
    if not agent.is_ready():
        return {"state": "not loaded"}
    return {"state": "ok", "id": agent.model_id, "file": path.name}


async def actions(agent: Any) -> dict[str, Any]:
    """The action server."""
    try:
        told: dict[str, Any] = await agent.action_endpoint.state()
    except (OSError, ValueError, aiohttp.ClientError, asyncio.TimeoutError):
        return {"state": "no answer"}
    return {"state": told["state"], "book": told["book"]}


def store(agent: Any) -> dict[str, Any]:
    """The conversations' file."""
    inner = getattr(agent.tracker_store, "_tracker_store", agent.tracker_store)
    try:
        inner.alive()
    except Exception as error:
        return {"state": "failing", "error": type(error).__name__}
    return {"state": "ok"}


def book() -> dict[str, Any]:
    """The rule book in force, and what is wrong with the files if they are not it."""
    here = SHELF.current()
    told = {
        "state": "in force",
        "version": here.version,
        "items": len(here.items),
        "loaded_at": SHELF.loaded.isoformat(timespec="seconds") if SHELF.loaded else None,
        "mistakes": [],
    }
    name = os.environ.get(VARIABLE)
    if name:
        try:
            told |= json.loads((Path(name).parent / STATUS).read_text(encoding="utf-8"))
        except (OSError, ValueError):
            told["state"] = "not followed"
    return told
