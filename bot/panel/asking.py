"""What the panel's page asks the server of items, questions, texts and remarks."""

from __future__ import annotations

import json
import logging
import re
from collections.abc import Mapping
from datetime import date
from functools import cache
from typing import Any

import jsonschema
from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from actions.reply import Answered, Reply, contract
from actions.state import Thing
from actions.wording import render
from bot import paths
from bot.access.guard import required
from bot.access.throttle import Budget, spell
from bot.channels.incoming import Incoming, Refused, clean, json_object
from bot.channels.rest import answered
from bot.panel import table
from bot.panel.search import Finder
from bot.panel.texting import HOW, NotSent, Texting, number_of
from bot.remarks import KINDS, NOTE, Remarks
from rules import Decision, decide, unknown
from rules.decide import decide_cautiously
from rules.model import Book

logger = logging.getLogger(__name__)

pages = Blueprint("panel-asking", url_prefix="/panel/api")

CALLER = re.compile(r"panel-[0-9a-f]{24}")
TEXTS = Budget(20, 600)
FINDER = Finder()


class Wrong(ValueError):
    """A request that cannot be done; the text says what to mend."""


def wrong(said: str, status: int = 400) -> HTTPResponse:
    """The answer to such a request."""
    return response.json({"error": said}, status=status)


def body_of(request: Request) -> dict[str, Any]:
    """The body as a JSON object. Raises `Wrong`."""
    try:
        return json_object(request.body)
    except Refused as refused:
        raise Wrong(str(refused)) from None


def text_of(body: Mapping[str, Any], name: str, most: int) -> str:
    """A text of the body, cut to a length; empty if it is missing. Raises `Wrong`."""
    value = body.get(name) or ""
    if not isinstance(value, str):
        raise Wrong(f"'{name}' must be text.")
    return value.strip()[:most]


def district_of(book: Book, name: Any) -> str | None:
    """A district that exists, or none."""
    return name if isinstance(name, str) and name in book.districts else None


def day_of(text: Any) -> date:
    """The day named, or today. Raises `Wrong` for what is no date."""
    if text in (None, ""):
        return date.today()
    try:
        return date.fromisoformat(text)
    except (TypeError, ValueError):
        raise Wrong("The day is no date. Write it as year-month-day: 2027-02-10.") from None


def conversation_of(name: Any) -> str:
    """The caller's conversation. Raises `Wrong`."""
    if not isinstance(name, str) or not CALLER.fullmatch(name):
        raise Wrong("'caller' must be 'panel-' and 24 figures or letters a to f.")
    return name


def decision_of(book: Book, told: Any, district: str | None, day: date) -> tuple[Thing, Decision]:
    """A thing and what the rules decide of it now, given an answer the page shows.

    Raises `Wrong` if that is another answer: what is sent must be what was read out.
    """
    fields = told if isinstance(told, dict) else {}
    item, facts = fields.get("item"), fields.get("facts") or {}
    if not isinstance(item, str | None):
        raise Wrong("'item' must be text.")
    if not isinstance(facts, dict) or not all(isinstance(v, str) for v in facts.values()):
        raise Wrong("'facts' must be an object of texts.")
    if item is None:
        thing = Thing(None, str(fields.get("asked_as") or "this item")[:80], day.isoformat())
        found: Any = unknown(book, district, day)
    elif item not in book.items:
        raise Wrong("This item is no longer in the rules. Look it up again.")
    else:
        thing = Thing(item, book.items[item].name, day.isoformat(), district, facts)
        found = decide(book, district, day, item, facts)
        if not isinstance(found, Decision):
            found = decide_cautiously(book, district, day, item, facts)
    if fields.get("destination") != found.destination:
        raise Wrong("The rules say something else now. Look it up again.")
    return thing, found


def reply_of(book: Book, listed: Any, district: str | None, day: date) -> Reply:
    """The assistant's reply for the answers a page shows. Raises `Wrong`."""
    if not isinstance(listed, list) or not 0 < len(listed) <= 6:
        raise Wrong("'items' must list one to six answers.")
    pairs = [decision_of(book, told, district, day) for told in listed]
    kinds = {table.reply_of(thing, found, day).kind for thing, found in pairs}
    kind = next(k for k in ("emergency", "cautious", "answer") if k in kinds)
    items = tuple(Answered(thing, found) for thing, found in pairs)
    return Reply(kind=kind, items=items, district=district, on=day)


def short_of(book: Book, body: Mapping[str, Any]) -> str:
    """The short form of the answers a page shows. Raises `Wrong`."""
    day, district = day_of(body.get("on")), district_of(book, body.get("district"))
    return render(book, reply_of(book, body.get("items"), district, day), short=True).text


@cache
def answer_shape() -> jsonschema.Draft7Validator:
    """The shape of a machine-readable answer."""
    path = paths.PROJECT / "actions" / "answer.schema.json"
    return jsonschema.Draft7Validator(json.loads(path.read_text(encoding="utf-8")))


@pages.get("/start")
@required("agent")
async def start(request: Request) -> HTTPResponse:
    """What the page needs once: who is there, districts, day, and the token for changes."""
    book, app = SHELF.current(), request.app
    scheme, who = book.scheme, request.ctx.who
    return response.json(
        {
            "name": who.name,
            "role": who.role,
            "token": who.session.token,
            "districts": [{"id": d.id, "name": d.name} for d in book.districts.values()],
            "today": date.today().isoformat(),
            "texting": None if app.ctx.texting else HOW,
            "scheme": {"name": scheme.name, "phone": scheme.phone, "hours": scheme.hours},
        }
    )


@pages.get("/find")
@required("agent")
async def find(request: Request) -> HTTPResponse:
    """The items that match what is typed."""
    found = FINDER.look(SHELF.current(), (request.args.get("q") or "")[:200])
    listed = [{"item": m.item, "name": m.name, "also": m.also, "section": m.section} for m in found]
    return response.json({"matches": listed})


@pages.get("/item/<item:str>")
@required("agent")
async def item(request: Request, item: str) -> HTTPResponse:
    """The whole table of an item."""
    book = SHELF.current()
    if item not in book.items:
        return wrong("This item is not in the rules.", 404)
    try:
        day = day_of(request.args.get("on"))
    except Wrong as told:
        return wrong(str(told))
    district = district_of(book, request.args.get("district"))
    return response.json(table.shown(book, item, district, day))


@pages.post("/ask")
@required("agent")
async def ask(request: Request) -> HTTPResponse:
    """A question in the caller's words, answered by the assistant itself."""
    try:
        body = body_of(request)
        sender = conversation_of(body.get("caller"))
        text = text_of(body, "message", 5_000)
        if not text:
            raise Wrong("Type a question first.")
        day = day_of(body.get("on"))
    except Wrong as told:
        return wrong(str(told))
    metadata: dict[str, Any] = {"channel": "panel", "on": day.isoformat()}
    district = district_of(SHELF.current(), body.get("district"))
    if district:
        metadata["district"] = district
    agent = request.app.ctx.agent
    incoming = Incoming(sender, clean(text), metadata)
    return response.json(await answered(incoming, agent.handle_message, agent, "rest"))


@pages.post("/text")
@required("agent")
async def text(request: Request) -> HTTPResponse:
    """Send an answer to the caller. The number is neither kept nor logged."""
    book = SHELF.current()
    texting: Texting | None = request.app.ctx.texting
    if texting is None:
        return wrong(HOW, 503)
    try:
        body = body_of(request)
        if body.get("preview"):
            return response.json({"short": short_of(book, body)})
        number = number_of(text_of(body, "number", 40))
        if number is None:
            raise Wrong("That is no phone number. It needs 10 to 15 figures.")
        short = short_of(book, body)
    except Wrong as told:
        return wrong(str(told))
    hold = TEXTS.wait(request.ctx.who.name)
    if hold:
        return wrong(f"You sent many texts. Wait {spell(hold)}, then send this one.", 429)
    try:
        await texting.send(number, short)
    except NotSent as told:
        return wrong(f"The text was not sent. {told}", 502)
    except Exception as error:
        # Only the kind of error: its words could hold the number.
        logger.error("A text could not be sent: %s.", type(error).__name__)
        return wrong("The text was not sent, because the gateway failed. Try again later.", 502)
    return response.json({"sent": short})


@pages.post("/remark")
@required("agent")
async def remark(request: Request) -> HTTPResponse:
    """Tell the officer that an answer is wrong or something is missing."""
    book = SHELF.current()
    remarks: Remarks = request.app.ctx.remarks
    try:
        body = body_of(request)
        kind = text_of(body, "kind", 20)
        if kind not in KINDS:
            raise Wrong("Say whether the answer is wrong or something is missing.")
        question = text_of(body, "question", NOTE)
        note = text_of(body, "note", NOTE + 1)
        if len(note) > NOTE:
            raise Wrong(f"A note may have {NOTE} characters. Make it shorter.")
        if not note and not question:
            raise Wrong("Write a note first: what is wrong or missing?")
        day = day_of(body.get("on"))
        district = district_of(book, body.get("district"))
        reply = body.get("reply")
        if reply is not None and not answer_shape().is_valid(reply):
            raise Wrong("'reply' is no answer of the assistant.")
        if reply is None and body.get("items"):
            reply = contract(book, reply_of(book, body["items"], district, day))
        number = remarks.add(
            kind,
            channel="panel",
            conversation=conversation_of(body.get("caller")),
            question=question,
            note=note,
            district=district,
            on=day.isoformat(),
            reply=reply,
        )
    except Wrong as told:
        return wrong(str(told))
    return response.json({"number": number}, status=201)
