"""The first page of the officer's side."""

from __future__ import annotations

from sanic import Blueprint
from sanic.request import Request
from sanic.response import HTTPResponse

from bot.access.guard import required
from bot.officer.shell import shown
from bot.pages import state

pages = Blueprint("officer-home", url_prefix="/officer")


@pages.get("/")
@required("officer")
async def home(request: Request) -> HTTPResponse:
    """Which rules are in force, and what there is to do."""
    return shown(request, "home.html", here="home", title="Overview", state=state.book())
