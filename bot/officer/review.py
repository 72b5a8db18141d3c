"""The review list as pages: what to look at, one group, and the form for a new item."""

from __future__ import annotations

from datetime import date
from typing import Any
from urllib.parse import quote

from sanic import Blueprint
from sanic.exceptions import NotFound
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot.access.guard import required
from bot.officer.desk import aside, changes_of
from bot.officer.review_shown import HOME, group_context, item_context, list_context
from bot.officer.shell import back, shown
from bot.processes import Failed
from bot.readers import component
from bot.review.accept import NewItem, Wrong, item_named
from bot.review.board import Board
from bot.review.entry import WHYS
from bot.review.known import Known
from bot.review.listing import ORDERS, STATES, Filter, Group

pages = Blueprint("officer-review", url_prefix="/officer/review")


def board(request: Request) -> Board:
    """The review list of the running assistant; made when first asked for."""
    ctx = request.app.ctx
    if not hasattr(ctx, "review"):
        reads = component(ctx.agent)

        def known() -> Known:
            context = reads.reader.context
            last: Known | None = getattr(ctx, "review_known", None)
            if last is None or last.context is not context:
                ctx.review_known = last = Known(context)
            return last

        ctx.review = Board(ctx.data, ctx.rules, changes_of(request.app), known)
    found: Board = ctx.review
    return found


async def group_of(request: Request, key: str) -> Group:
    """The group a page is about. Raises `NotFound`."""
    try:
        return await aside(board(request).group, key)
    except Failed:
        raise NotFound("There is no such page.") from None


def filter_of(request: Request) -> Filter:
    """What the address asks for; what cannot be read is passed over."""

    def one(name: str, among: Any = None) -> str | None:
        told = str(request.args.get(name) or "")
        return told if told and (among is None or told in among) else None

    def day(name: str) -> date | None:
        try:
            return date.fromisoformat(one(name) or "")
        except ValueError:
            return None

    state = one("state", (*STATES, "any")) or "open"
    return Filter(
        why=one("why", WHYS),
        channel=one("channel"),
        district=one("district", (*SHELF.current().districts, "none")),
        start=day("from"),
        end=day("to"),
        state=None if state == "any" else state,
        order=one("order", ORDERS) or "asked",
    )


@pages.get("/")
@required("officer")
async def listed(request: Request) -> HTTPResponse:
    """The groups to look at."""
    wish = filter_of(request)
    groups = await aside(board(request).groups)
    told = str(request.args.get("page") or "")[:6]
    page = max(1, int(told)) if told.isascii() and told.isdigit() else 1
    context = await aside(list_context, groups, wish, SHELF.current(), page)
    return shown(request, "review.html", here="review", title="Questions to look at", **context)


@pages.get("/<key:str>")
@required("officer")
async def one(request: Request, key: str) -> HTTPResponse:
    """One group."""
    return await page_of(request, await group_of(request, key))


async def page_of(request: Request, group: Group, status: int = 200, **filled: Any) -> HTTPResponse:
    """A group's page, with what was filled in and is wrong, if anything is."""
    history = await aside(board(request).store.history, group.key)
    context = await aside(group_context, group, history, SHELF.current())
    context = {**context, "wrong": {}, **filled}
    return shown(
        request,
        "review_group.html",
        here="review",
        title=context["heading"],
        status=status,
        **context,
    )


@pages.post("/<key:str>/name")
@required("officer")
async def name(request: Request, key: str) -> HTTPResponse:
    """Propose the words of a group as names of an item."""
    group = await group_of(request, key)
    item = field(request, "other") or field(request, "item")
    names = field(request, "names")
    try:
        change = await aside(
            board(request).name, group, item, names.splitlines(), request.ctx.who.name
        )
    except Wrong as wrong:
        filled = {
            "names": names,
            "other": field(request, "other"),
            "chosen": field(request, "item"),
        }
        return await page_of(request, group, 400, wrong=wrong.told, **filled)
    return proposed(request, change)


@pages.get("/<key:str>/item")
@required("officer")
async def new_item(request: Request, key: str) -> HTTPResponse:
    """The form for a new item."""
    group = await group_of(request, key)
    return await item_page(request, group, None, {})


async def item_page(
    request: Request, group: Group, new: NewItem | None, wrong: dict[str, str]
) -> HTTPResponse:
    """The form, filled in anew or as it was sent."""
    context = await aside(item_context, group, new, SHELF.current())
    return shown(
        request,
        "review_item.html",
        here="review",
        title="A new item",
        status=400 if wrong else 200,
        wrong=wrong,
        **context,
    )


@pages.post("/<key:str>/item")
@required("officer")
async def add_item(request: Request, key: str) -> HTTPResponse:
    """Propose a new item."""
    group = await group_of(request, key)
    like = field(request, "like")
    new = NewItem(
        name=field(request, "name"),
        also=lines(request, "also"),
        file=field(request, "file"),
        goes=field(request, "goes"),
        like=item_named(SHELF.current(), like) if like else "",
        why=field(request, "why"),
        prepare=lines(request, "prepare"),
        caution=field(request, "caution"),
        source=field(request, "source"),
        hazard=field(request, "hazard"),
        plural=field(request, "plural") == "yes",
    )
    try:
        change = await aside(board(request).item, group, new, request.ctx.who.name)
    except Wrong as wrong:
        return await item_page(request, group, new, wrong.told)
    return proposed(request, change)


@pages.post("/<key:str>/decide")
@required("officer")
async def decide(request: Request, key: str) -> HTTPResponse:
    """Dismiss a group, put it off, or take it up again."""
    group = await group_of(request, key)
    state, because = field(request, "state"), field(request, "because")
    said = {
        "dismissed": f"‘{group.title}’ needs no rule.",
        "later": f"‘{group.title}’ is put off.",
        "reopened": f"‘{group.title}’ is in the list again.",
    }
    try:
        if state not in said:
            raise ValueError("Choose what to do.")
        await aside(board(request).decide, group, state, request.ctx.who.name, because)
    except ValueError as wrong:
        told = {"because": str(wrong)}
        return await page_of(request, group, 400, wrong=told, because=because)
    return back(request, f"{HOME}/{quote(key)}" if state == "reopened" else HOME, said[state])


def proposed(request: Request, change: str) -> HTTPResponse:
    """On to the change, where it is checked, read and applied."""
    said = "This is a proposed change. Nothing is in force until you have read and applied it."
    return back(request, f"/officer/changes/{quote(change)}", said)


def field(request: Request, name: str) -> str:
    """A field of a form, its ends and line breaks tidied."""
    told = str((request.form or {}).get(name) or "")
    return told.replace("\r\n", "\n").strip()[:2000]


def lines(request: Request, name: str) -> tuple[str, ...]:
    """The lines of a field that are not empty."""
    found = (" ".join(line.split()) for line in field(request, name).split("\n"))
    return tuple(dict.fromkeys(line for line in found if line))
