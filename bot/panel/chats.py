"""The chats that residents asked a person for, as the panel shows them."""

from __future__ import annotations

from typing import Any

from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from bot.access.guard import required
from bot.handover.desk import Desk
from bot.handover.history import said, whole
from bot.handover.resident import LONGEST
from bot.handover.store import Chat
from bot.panel.asking import Wrong, body_of, text_of, wrong

pages = Blueprint("panel-chats", url_prefix="/panel/api/chats")

HOLD = 15.0
"""Seconds the list is held open for news; well below the time after which a page counts as gone."""


async def listed(request: Request, chat: Chat) -> dict[str, Any]:
    """A chat in the list: since when, where, and the resident's first and last words."""
    desk: Desk = request.app.ctx.desk
    lines = desk.chats.lines(chat.id)
    before = await said(request.app.ctx.agent, chat.sender)
    words = [x["text"] for x in before if x["who"] == "resident"]
    words += [x.text for x in lines if x.who == "resident"]
    return {
        "id": chat.id,
        "state": chat.state,
        "mine": chat.agent == request.ctx.who.name,
        "waited": int(desk.now() - chat.asked),
        "district": chat.district,
        "first": words[0] if words else "",
        "last": words[-1] if words else "",
        "latest": lines[-1].id if lines else 0,
        "heard": max((x.id for x in lines if x.who in ("resident", "assistant")), default=0),
        "here": desk.now() - chat.resident_seen < 40,
    }


@pages.get("/")
@required("agent", passive=True)
async def every(request: Request) -> HTTPResponse:
    """The chats that wait and the agent's own. Asking shows that the agent's page is there.

    `stamp` is what the page saw last: the answer waits for something else, but not for long.
    """
    desk: Desk = request.app.ctx.desk
    name = request.ctx.who.name
    ready = request.args.get("ready") != "no"
    desk.seen(name, ready)
    told = await seen_by(request)
    if request.args.get("stamp") == told["stamp"]:
        await desk.news(HOLD)
        if request.app.ctx.access.sessions.find_by_id(request.ctx.who.session.id):
            desk.seen(name, ready)
        told = await seen_by(request)
    return response.json(told)


async def seen_by(request: Request) -> dict[str, Any]:
    """What an agent sees of the chats."""
    desk: Desk = request.app.ctx.desk
    desk.sweep()
    name = request.ctx.who.name
    shown = [
        c for c in desk.chats.all("waiting", "taken") if c.state == "waiting" or c.agent == name
    ]
    chats = [await listed(request, c) for c in shown]
    stamp = ".".join(
        f"{c['id']}{c['state'][0]}{c['latest']}{'h' if c['here'] else 'g'}" for c in chats
    )
    return {"chats": chats, "stamp": stamp or "none", "hours": desk.within_hours()}


def found(request: Request, chat: int) -> Chat | None:
    """A chat the agent may see: one that waits, or was or is the agent's own."""
    there: Chat | None = request.app.ctx.desk.chats.get(chat)
    if there is None or (there.state != "waiting" and there.agent != request.ctx.who.name):
        return None
    return there


@pages.get("/<chat:int>")
@required("agent", passive=True)
async def one(request: Request, chat: int) -> HTTPResponse:
    """A chat with all that was said in it; reading it does not take it."""
    desk: Desk = request.app.ctx.desk
    there = found(request, chat)
    if there is None:
        return wrong("Somebody else has this chat, or it is over.", 404)
    lines = await whole(request.app.ctx.agent, desk.chats, there)
    return response.json({**await listed(request, there), "lines": lines})


@pages.post("/<chat:int>/<what:str>")
@required("agent")
async def act(request: Request, chat: int, what: str) -> HTTPResponse:
    """Take a chat, give it back, end it, or say something in it."""
    desk: Desk = request.app.ctx.desk
    name = request.ctx.who.name
    there = found(request, chat)
    if there is None:
        return wrong("Somebody else has this chat, or it is over.", 409)
    if what == "say":
        return say(request, there)
    done = {"take": desk.take, "back": desk.give_back, "end": desk.end}.get(what)
    if done is None:
        return wrong("A chat can be taken, given back, ended or answered.", 404)
    if not done(there, name):
        return wrong("Somebody else was quicker, or the chat is over.", 409)
    now = desk.chats.get(chat)
    return response.json({"state": now.state if now else "ended"})


def say(request: Request, there: Chat) -> HTTPResponse:
    """Say something to the resident."""
    desk: Desk = request.app.ctx.desk
    try:
        line = text_of(body_of(request), "text", LONGEST)
    except Wrong as told:
        return wrong(str(told))
    if not line:
        return wrong("Write something first.")
    if there.state != "taken" or there.agent != request.ctx.who.name:
        return wrong("Take the chat first.", 409)
    said_now = desk.chats.say(there.id, "agent", line)
    desk.ring()
    return response.json({"id": said_now.id})
