"""What the resident's page asks: for a person, for news, to say something, to leave.

Nobody signs in here. A chat is reached with the secret the server made when it was asked for.
"""

from __future__ import annotations

from typing import Any

from sanic import Blueprint, response
from sanic.exceptions import NotFound
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot.access.throttle import Budget, spell
from bot.channels.incoming import SENDER, Refused, clean, json_object, stored, text_field
from bot.handover.danger import Watch
from bot.handover.desk import QUEUE, Desk
from bot.handover.store import OPEN, Chat, Line
from bot.webchat.origins import welcome

pages = Blueprint("person", url_prefix="/api/person")

LONGEST = 2_000
"""Characters of a line."""
HOLD = 20.0
"""Seconds a question for news is held open."""
SHOWN = ("agent", "assistant", "note")
"""Who else's lines a resident's page is sent."""

ASKING, ALL, SAYING = Budget(10, 600), Budget(300, 600), Budget(40, 60)
"""How often a conversation, and everybody together, may ask for a person, and a chat may say
something: common practice, no source."""


def wrong(said: str, status: int = 400) -> HTTPResponse:
    """What a program has to mend."""
    return response.json({"error": said}, status=status)


def chat_of(desk: Desk, token: str) -> Chat:
    """The chat a secret belongs to. Raises `NotFound`."""
    chat = desk.chats.of(token)
    if chat is None:
        raise NotFound("There is no such chat.")
    return chat


def number(text: str | None) -> int:
    """A number in an address, 0 if it is none."""
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 16 else 0


def state_of(desk: Desk, chat: Chat, after: int) -> dict[str, Any]:
    """What a resident's page shows of a chat."""
    lines = [shown(x) for x in desk.chats.lines(chat.id, after) if x.who in SHOWN]
    told: dict[str, Any] = {"state": chat.state, "lines": lines}
    if chat.state == "waiting":
        told["before"] = sum(c.asked < chat.asked for c in desk.chats.all("waiting"))
    return told


def shown(line: Line) -> dict[str, Any]:
    """A line as data."""
    return {"id": line.id, "who": line.who, "text": line.text}


@pages.on_request
async def from_our_pages(request: Request) -> HTTPResponse | None:
    """Refuse what a page of a site that is not listed sends."""
    if request.method in ("POST", "DELETE") and not welcome(request, request.app.ctx.webchat):
        return wrong("This page's site is not in the list of 'webchat: origins'.", 403)
    return None


@pages.get("/")
async def there(request: Request) -> HTTPResponse:
    """Whether a person is there to ask for."""
    return response.json({"staffed": request.app.ctx.desk.staffed()})


@pages.post("/")
async def ask(request: Request) -> HTTPResponse:
    """Ask for a person: the secret of the chat, or what to do instead."""
    desk: Desk = request.app.ctx.desk
    try:
        body = json_object(request.body, "'sender'")
        sender = stored(text_field(body, "sender"))[:SENDER]
    except Refused as refused:
        return wrong(str(refused))
    hold = ASKING.wait(sender) or ALL.wait("")
    if hold:
        return wrong(f"That was asked too often. Wait {spell(hold)}.", 429)
    desk.sweep()
    full = len(desk.chats.all("waiting")) >= QUEUE
    if not desk.staffed() or full:
        return response.json({"state": "closed", "told": desk.instead()})
    before = desk.chats.open_of(sender)
    if before:
        # The secret of the old chat is not kept, so it cannot be told again.
        desk.leave(before)
    district = body.get("district")
    known = isinstance(district, str) and district in SHELF.current().districts
    district = district if known else None
    secret, chat = desk.chats.ask(sender, district)
    desk.ring()
    return response.json({"token": secret, **state_of(desk, chat, 0)}, status=201)


@pages.get("/<token:str>")
async def news(request: Request, token: str) -> HTTPResponse:
    """The lines behind `after`, as soon as there are any or the state is another one."""
    desk: Desk = request.app.ctx.desk
    after, known = number(request.args.get("after")), request.args.get("state")
    chat = chat_of(desk, token)
    desk.chats.see_resident(chat.id)
    found = state_of(desk, chat, after)
    if chat.state in OPEN and not found["lines"] and known == chat.state:
        await desk.news(HOLD)
        chat = desk.chats.of(token) or chat
        desk.chats.see_resident(chat.id)
        found = state_of(desk, chat, after)
    return response.json(found)


@pages.post("/<token:str>")
async def say(request: Request, token: str) -> HTTPResponse:
    """A line of the resident, while a person has the chat. A danger is answered at once."""
    desk: Desk = request.app.ctx.desk
    chat = chat_of(desk, token)
    try:
        text = text_field(json_object(request.body, "'message'"), "message")
    except Refused as refused:
        return wrong(str(refused))
    if chat.state != "taken":
        # The page asks the assistant instead.
        return response.json({"state": chat.state}, status=409)
    hold = SAYING.wait(str(chat.id))
    if hold:
        return wrong(f"Too many messages came at once. Wait {spell(hold)}.", 429)
    line = clean(text)[:LONGEST]
    said = desk.chats.say(chat.id, "resident", line)
    desk.chats.see_resident(chat.id)
    watch: Watch = request.app.ctx.watch
    urgent = await watch.look(request.app.ctx.agent, chat.id, chat.sender, line, chat.district)
    answer: dict[str, Any] = {"state": chat.state, "id": said.id}
    if urgent:
        text, custom = urgent
        alarm = desk.chats.say(chat.id, "assistant", text)
        answer["urgent"] = [{"text": text, "custom": custom}]
        answer["id"] = alarm.id
    desk.ring()
    return response.json(answer)


@pages.delete("/<token:str>")
async def leave(request: Request, token: str) -> HTTPResponse:
    """The resident does without a person."""
    desk: Desk = request.app.ctx.desk
    chat = chat_of(desk, token)
    desk.leave(chat)
    return response.json({"state": "left"})
