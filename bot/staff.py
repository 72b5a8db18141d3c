"""Puts the pages of the staff and the hand-over of chats into the server's app."""

from __future__ import annotations

from pathlib import Path

from sanic import Sanic

from bot import officer, settings
from bot.access import settings as access_settings
from bot.access.guard import Access
from bot.access.signin import area
from bot.handover import resident
from bot.handover.danger import Watch
from bot.handover.desk import Desk
from bot.panel import asking, chats, pages
from bot.panel.texting import Texting
from bot.sms.outgoing import Outgoing


def install(app: Sanic, data: Path) -> None:
    """Add sign-in, panel, officer's pages and hand-over.

    Raises `Failed` if the settings have a mistake.
    """
    told = access_settings.read(settings.load(data))
    app.ctx.access = Access(data, told)
    app.ctx.desk = Desk(data / "handover.db", told)
    app.ctx.access.leaving.append(app.ctx.desk.gone)
    app.ctx.watch = Watch()
    service = getattr(app.ctx, "sms", None)
    texting: Texting | None = Outgoing(service) if service and service.outbox else None
    app.ctx.texting = texting
    for blueprint in (area("/panel", "agent", "panel"), pages.pages, asking.pages, chats.pages):
        app.blueprint(blueprint)
    app.ctx.data = data
    for blueprint in (area("/officer", "officer", "officer"), *officer.blueprints()):
        app.blueprint(blueprint)
    app.blueprint(resident.pages)
