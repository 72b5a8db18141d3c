"""Conversations: find one, and read why each of its answers was given."""

from __future__ import annotations

import asyncio
from datetime import date
from functools import partial
from urllib.parse import quote, unquote, urlencode

from sanic import Blueprint
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot.access.guard import required
from bot.explain import search
from bot.explain.story import story
from bot.figures.words import CHANNELS
from bot.officer.shell import back, shown
from bot.privacy.forget import What, forget, told
from bot.processes import Failed

pages = Blueprint("officer-conversations", url_prefix="/officer/conversations")

PAGE = 25
"""Conversations on a page."""
KINDS = {
    "answer": "answered",
    "question": "asked back",
    "cautious": "careful answer",
    "emergency": "emergency",
    "information": "information",
    "referral": "passed on",
    "unclear": "not understood",
    "small_talk": "small talk",
}
"""The kinds of the answer contract, in the officer's words."""


def word(request: Request, name: str) -> str:
    """A field of the search form."""
    return (request.args.get(name) or "").strip()[:200]


@pages.get("/")
@required("officer")
async def listed(request: Request) -> HTTPResponse:
    """The search form and what it finds."""
    typed = {n: word(request, n) for n in ("day", "words", "district", "channel", "kind")}
    wrong, day = "", None
    try:
        day = date.fromisoformat(typed["day"]) if typed["day"] else None
    except ValueError:
        wrong = "This is no date. Write it as year-month-day: 2026-12-03."
    number = word(request, "page")
    page = int(number) if number.isascii() and number.isdigit() and 0 < int(number) < 10_000 else 1
    asked = search.Asked(
        day,
        typed["words"],
        typed["district"] or None,
        typed["channel"] or None,
        typed["kind"] or None,
    )
    data, loop = request.app.ctx.data, asyncio.get_running_loop()
    found = partial(search.find, data, asked, PAGE, PAGE * (page - 1))
    hits, more = ([], False) if wrong else await loop.run_in_executor(None, found)
    filters = {k: v for k, v in typed.items() if v}

    def page_at(at: int) -> str:
        return "/officer/conversations?" + urlencode({**filters, "page": at})

    return shown(
        request,
        "conversations.html",
        here="conversations",
        title="Conversations",
        status=400 if wrong else 200,
        hits=hits,
        typed=typed,
        wrong=wrong,
        page=page,
        earlier=page_at(page + 1) if more else "",
        later=page_at(page - 1) if page > 1 else "",
        filtered=bool(filters),
        kinds=KINDS,
        channels=CHANNELS,
        there=await loop.run_in_executor(None, search.channels, data),
        address=address,
        districts={d.id: d.name for d in SHELF.current().districts.values()},
    )


def address(conversation: str) -> str:
    """Where a conversation is shown."""
    return f"/officer/conversations/{quote(conversation, safe='')}"


@pages.get("/<conversation:path>")
@required("officer")
async def one(request: Request, conversation: str) -> HTTPResponse:
    """A conversation step by step."""
    name = unquote(conversation)
    data, loop = request.app.ctx.data, asyncio.get_running_loop()
    try:
        steps = await loop.run_in_executor(None, story, data, name)
    except Failed:
        return shown(
            request,
            "conversation_gone.html",
            here="conversations",
            title="There is no such conversation",
            status=404,
        )
    return shown(
        request,
        "conversation.html",
        here="conversations",
        title="Conversation",
        name=name,
        steps=steps,
        kinds=KINDS,
        channels=CHANNELS,
        districts={d.id: d.name for d in SHELF.current().districts.values()},
        example="/officer/examples/new?" + urlencode({"conversation": name}),
    )


@pages.post("/forget")
@required("officer")
async def forgotten(request: Request) -> HTTPResponse:
    """Forget a conversation. Counts of its answers stay."""
    name = request.form.get("conversation") or ""
    if not name or request.form.get("sure") != "yes":
        return back(request, address(name) if name else "/officer/conversations", NOT_SURE)
    loop = asyncio.get_running_loop()
    work = partial(forget, request.app.ctx.data, What(conversation=name), shrink=False)
    try:
        done = await loop.run_in_executor(None, work)
    except Failed as failed:
        return back(request, address(name), str(failed))
    words = " ".join(" ".join(line.split()) + ";" for line in told(done, False))
    return back(request, "/officer/conversations", words.replace(":;", ":").rstrip(";") + ".")


NOT_SURE = "Nothing was forgotten. Tick the box to say that you are sure."
