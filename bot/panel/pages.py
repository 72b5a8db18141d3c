"""The panel's page and its files. Nothing of it is shown to anybody who is not signed in."""

from __future__ import annotations

from sanic import Blueprint
from sanic.exceptions import NotFound
from sanic.request import Request
from sanic.response import HTTPResponse

from bot import paths
from bot.access.guard import required
from bot.pages.assets import TYPES, served

pages = Blueprint("panel", url_prefix="/panel")

FILES = paths.WEB / "panel"


@pages.route("/", methods=["GET", "HEAD"])
@required("agent")
async def panel(request: Request) -> HTTPResponse:
    """The page."""
    return served(request, FILES / "panel.html")


@pages.route("/web/<name:str>", methods=["GET", "HEAD"])
@required("agent", passive=True)
async def asset(request: Request, name: str) -> HTTPResponse:
    """One of the page's files."""
    there = {p.name: p for p in FILES.iterdir() if p.is_file() and p.suffix in TYPES}
    if name not in there:
        raise NotFound("There is no such page.")
    return served(request, there[name])
