"""The simulator: a page like a phone, to try text messages without a gateway or a phone."""

from __future__ import annotations

import json
import uuid
from typing import Any
from urllib.parse import urlsplit

from sanic import Blueprint, response
from sanic.exceptions import NotFound
from sanic.request import Request
from sanic.response import HTTPResponse

from bot import paths
from bot.pages.assets import served
from bot.sms.numbers import normal
from bot.sms.received import Received
from bot.webchat.origins import loopback
from rules import sms

pages = Blueprint("sms_simulator")

INVENTED = "+447700900"
"""How numbers begin that no real person has: a range kept for drama (Ofcom; from memory)."""


@pages.middleware("request")
async def only_here(request: Request) -> HTTPResponse | None:
    """Where nothing is set the simulator is for this machine, not for what a proxy lets in."""
    if not request.app.ctx.sms.options.demo:
        return None
    passed_on = any(h in request.headers for h in ("forwarded", "x-forwarded-for", "via"))
    name = urlsplit(f"//{request.host}").hostname or ""
    if passed_on or not loopback(name):
        raise NotFound("There is no such page.")
    return None


@pages.route("/sms-simulator", methods=["GET", "HEAD"])
async def page(request: Request) -> HTTPResponse:
    """The page."""
    return served(request, paths.WEB / "sms-simulator.html")


@pages.post("/sms-simulator/messages")
async def message(request: Request) -> HTTPResponse:
    """One text message in, the reply as the phone would get it out."""
    try:
        told = json.loads(request.body) if "json" in request.headers.get("content-type", "") else 0
    except (ValueError, RecursionError):
        told = None
    if not isinstance(told, dict):
        return refused("The body must be a JSON object with 'number' and 'text'.")
    number, text = told.get("number"), told.get("text")
    if not isinstance(number, str) or not normal(number, "GB").startswith(INVENTED):
        return refused("Use a number from 07700 900000 to 07700 900999. Nobody has those.")
    if not isinstance(text, str) or len(text) > 1600:
        return refused("A text has at most 1,600 characters.")
    reply = await request.app.ctx.sms.desk.receive(Received(number, text, uuid.uuid4().hex))
    return response.json({"sent": size(text), "reply": {"text": reply, **size(reply)}})


def refused(what: str) -> HTTPResponse:
    """What is wrong with a request."""
    return response.json({"error": what}, status=400)


def size(text: str) -> dict[str, Any]:
    """How long a text is on its way: characters as the network counts them, and messages."""
    units, sizes = sms.widths(text)
    return {
        "length": sum(units),
        "messages": sms.parts(text) if text else 0,
        "alphabet": "GSM-7" if sizes == sms.GSM else "UCS-2",
    }
