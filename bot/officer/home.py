"""The first page of the officer's side: what is in force, and what there is to do."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from sanic import Blueprint
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot.access.guard import required
from bot.changes.store import Changes
from bot.officer.desk import aside, changes_of
from bot.officer.review import board
from bot.officer.shell import shown
from bot.pages import state
from bot.publish import noted
from bot.review.board import Board
from rules.model import Book, Change

pages = Blueprint("officer-home", url_prefix="/officer")

FIRST = 3
"""Questions that are named on the page."""


@dataclass(frozen=True, slots=True)
class ToDo:
    """What waits for the officer: entries of the review list and how often they were asked, the
    first of them as name and key, changes not yet applied, districts whose published files say
    something else than the rules (`None` if nothing was published), and changes still ahead."""

    entries: int
    asked: int
    first: list[tuple[str, str]]
    changes: int
    stale: list[str] | None
    ahead: list[Change]


def to_do(book: Book, board: Board, changes: Changes, data: Path, today: date) -> ToDo:
    """What there is to do. It reads the whole record: not for the event loop."""
    open_ = [g for g in board.groups() if g.state == "open"]
    open_.sort(key=lambda g: -g.asked)
    last = noted.last(data)
    return ToDo(
        entries=len(open_),
        asked=sum(g.asked for g in open_),
        first=[(g.title, g.key) for g in open_[:FIRST]],
        changes=sum(c.state == "proposed" for c in changes.all()),
        stale=None if last is None else noted.stale(book, last, max(today, last.on)),
        ahead=sorted((c for c in book.changes.values() if c.on > today), key=lambda c: c.on),
    )


@pages.get("/")
@required("officer")
async def home(request: Request) -> HTTPResponse:
    """Which rules are in force, and what there is to do."""
    book, ctx = SHELF.current(), request.app.ctx
    found = await aside(
        to_do, book, board(request), changes_of(request.app), ctx.data, date.today()
    )
    return shown(
        request, "home.html", here="home", title="Overview", state=state.book(), todo=found
    )
