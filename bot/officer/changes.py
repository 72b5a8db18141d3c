"""Proposed changes: the list, and a page for each to read it and put it in force."""

from __future__ import annotations

import logging

from sanic import Blueprint
from sanic.request import Request
from sanic.response import HTTPResponse

from bot.access.guard import required
from bot.changes.change import Change
from bot.changes.showing import shown as rows
from bot.officer.desk import aside, changes_of, field, judge_of, judged
from bot.officer.shell import back, shown
from bot.pages import state
from bot.processes import Failed

logger = logging.getLogger(__name__)

pages = Blueprint("officer-changes", url_prefix="/officer/changes")

HERE = "/officer/changes"
APPLIED = "Applied. The chat answers by the new rules in a moment."


@pages.get("/")
@required("officer")
async def listed(request: Request) -> HTTPResponse:
    """All changes, those that wait first."""
    found = await aside(changes_of(request.app).all)
    waiting = [c for c in found if c.state == "proposed"]
    done = [c for c in found if c.state != "proposed"][:50]
    return shown(
        request, "changes.html", here="changes", title="Changes", waiting=waiting, done=done
    )


@pages.get("/<id:str>")
@required("officer")
async def one(request: Request, id: str) -> HTTPResponse:
    """One change: the difference, the check, what it would change, the questions tried."""
    return await page_of(request, id)


async def page_of(request: Request, id: str, trouble: str = "", status: int = 200) -> HTTPResponse:
    """The page of a change, with what could not be done to it."""
    store = changes_of(request.app)
    try:
        change = await aside(store.get, id)
    except Failed as failed:
        return missing(request, failed)
    judgement, stale = None, list[str]()
    others: list[Change] = []
    if change.state == "proposed":
        try:
            stale = await aside(store.stale, change)
            if not stale:
                judgement = await judged(judge_of(request.app).of, change)
            others = [c for c in await aside(store.all) if c.state == "proposed" and c.id != id]
        except Failed as failed:
            trouble = trouble or str(failed)
    return shown(
        request,
        "change.html",
        here="changes",
        title=change.title,
        status=status,
        change=change,
        files=rows(change),
        judgement=judgement,
        stale=stale,
        others=others,
        state=state.book(),
        trouble=trouble,
    )


def missing(request: Request, failed: Failed) -> HTTPResponse:
    """There is no such change."""
    return shown(
        request, "trouble.html", here="changes", title="No such change", status=404, said_of=failed
    )


@pages.post("/<id:str>/apply")
@required("officer")
async def apply(request: Request, id: str) -> HTTPResponse:
    """Put a change in force, if it is the one that was read and the check passes."""
    store, who = changes_of(request.app), request.ctx.who.name
    seen = field(request, "seen", 64)
    try:
        await aside(store.apply, id, seen, who, judge_of(request.app).faults)
    except Failed as failed:
        return await page_of(request, id, str(failed), 409)
    return back(request, f"{HERE}/{id}", APPLIED)


@pages.post("/<id:str>/drop")
@required("officer")
async def drop(request: Request, id: str) -> HTTPResponse:
    """Put a change away."""
    try:
        await aside(changes_of(request.app).drop, id, request.ctx.who.name)
    except Failed as failed:
        return await page_of(request, id, str(failed), 409)
    return back(request, HERE, "Dropped. The rules stay as they are.")


@pages.post("/<id:str>/again")
@required("officer")
async def again(request: Request, id: str) -> HTTPResponse:
    """Make a change again on the files as they are now."""
    try:
        await aside(changes_of(request.app).again, id, request.ctx.who.name)
    except Failed as failed:
        return await page_of(request, id, str(failed), 409)
    return back(
        request, f"{HERE}/{id}", "Made again on today’s files. Read it before you apply it."
    )


@pages.post("/<id:str>/join")
@required("officer")
async def join(request: Request, id: str) -> HTTPResponse:
    """Put another change into this one."""
    other = field(request, "other", 64)
    try:
        await aside(changes_of(request.app).join, id, other, request.ctx.who.name)
    except Failed as failed:
        return await page_of(request, id, str(failed), 409)
    return back(request, f"{HERE}/{id}", "Both are one change now.")


@pages.post("/<id:str>/undo")
@required("officer")
async def undo(request: Request, id: str) -> HTTPResponse:
    """Propose to take an applied change back."""
    try:
        made = await aside(changes_of(request.app).undo, id, request.ctx.who.name)
    except Failed as failed:
        return await page_of(request, id, str(failed), 409)
    return back(request, f"{HERE}/{made.id}", "This change takes it back. Read it, then apply it.")
