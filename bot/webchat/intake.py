"""`POST /api/remarks`: what a resident says of an answer.

The sender's name is known to that resident's browser alone. What was asked and answered is taken
from the stored conversation, never from the request.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from bot import turns
from bot.access.throttle import Budget
from bot.channels.incoming import SENDER, Refused, json_object, stored, text_field
from bot.remarks import KINDS, NOTE, Remarks
from bot.webchat.origins import welcome

pages = Blueprint("remarks", url_prefix="/api/remarks")

LARGEST = 8_000
"""Bytes of a body; a note of the longest kind fits in any script."""
ONE_LINE = "This page's site is not in the list of 'webchat: origins' in settings.yml."
EACH, ALL = Budget(30, 600), Budget(600, 600)
"""How many remarks a conversation, and everybody together, may make: common practice, no source."""


@pages.post("/")
async def take(request: Request) -> HTTPResponse:
    """Keep a remark. One for the same answer takes the place of the one before."""
    if not welcome(request, request.app.ctx.webchat):
        return refused(403, "origin", ONE_LINE)
    if len(request.body) > LARGEST:
        return refused(413, "body", f"The body is too large. It may have {LARGEST} bytes.")
    try:
        told = read(request.body)
    except Refused as wrong:
        return refused(400, wrong.field, str(wrong))
    seconds = EACH.wait(told["sender"]) or ALL.wait("")
    if seconds:
        answer = refused(429, "sender", "Too many remarks came at once. Try again later.")
        answer.headers["retry-after"] = str(seconds)
        return answer
    number = keep(request.app.ctx.remarks, request.app.ctx.agent.tracker_store, told)
    if number is None:
        return refused(404, "message_id", "There is no such answer in this conversation.")
    return response.json({"stored": number}, status=201)


def keep(remarks: Remarks, store: Any, told: Mapping[str, Any], **more: Any) -> int | None:
    """Keep what was said of an answer and return its number; `None` if there is no such answer.

    `more` goes to `Remarks.add`.
    """
    turn = turns.find(store, told["sender"], told["message_id"])
    if turn is None:
        return None
    reply = turn.reply or {}
    return remarks.add(
        told["kind"],
        channel=str(turn.metadata.get("channel") or "webchat"),
        conversation=told["sender"],
        question=turn.question,
        note=told["note"],
        district=reply.get("district") or turn.metadata.get("district"),
        on=reply.get("on"),
        reply=turn.reply,
        turn=told["message_id"],
        **more,
    )


def refused(status: int, field: str, message: str) -> HTTPResponse:
    """What is wrong, by the name of the field."""
    return response.json({"error": message, "field": field}, status=status)


def read(body: bytes) -> dict[str, Any]:
    """The checked body. Raises `Refused`."""
    data = json_object(body, "'sender' and 'message_id'")
    told = {name: text_field(data, name) for name in ("sender", "message_id", "kind")}
    for name in ("sender", "message_id"):
        if len(told[name]) > SENDER:
            raise Refused(name, f"'{name}' must have at most {SENDER} characters.")
    if told["kind"] not in KINDS:
        raise Refused("kind", f"'kind' must be one of: {', '.join(KINDS)}.")
    note = data.get("note") or ""
    if not isinstance(note, str):
        raise Refused("note", "'note' must be a string.")
    if len(note) > NOTE:
        raise Refused("note", f"'note' must have at most {NOTE} characters. Say it shorter.")
    return {**told, "sender": stored(told["sender"]), "note": note.strip()}
