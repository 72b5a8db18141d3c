"""Puts the webchat's part into the app."""

from __future__ import annotations

from pathlib import Path

from sanic import Sanic

from bot import settings
from bot.webchat import intake, options, origins


def install(app: Sanic, data: Path) -> None:
    """Read the settings, let in the sites they name, and take remarks. Raises `Failed`."""
    chosen = options.read(settings.load(data))
    app.ctx.webchat = chosen
    origins.install(app, chosen)
    app.blueprint(intake.pages)
