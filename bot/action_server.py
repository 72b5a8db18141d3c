"""The action server: the framework's own, for this project's actions, on a socket handed to it."""

from __future__ import annotations

import logging
import socket
import sys

from rasa_sdk.endpoint import create_app
from sanic import Sanic, response
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot import background, logs

FRAMEWORK = ("rasa", "tensorflow")
"""Packages this process does without; they would cost it half a gigabyte."""


def build() -> Sanic:
    """The app, with a page that tells which rule book is in force here."""
    app = create_app("actions.handlers", cors_origins=None)
    app.config.KEEP_ALIVE_TIMEOUT = 75
    app.config.GRACEFUL_SHUTDOWN_TIMEOUT = 2.0
    app.config.ACCESS_LOG = False

    @app.get("/state")
    async def state(_: Request) -> HTTPResponse:
        return response.json(
            {
                "state": "ok",
                "book": SHELF.current().version,
                "loaded": [name for name in FRAMEWORK if name in sys.modules],
            }
        )

    @app.listener("before_server_start")
    async def begin(app: Sanic, _: object) -> None:
        SHELF.current()
        SHELF.followed = True
        app.add_task(background.follow(SHELF.refresh))

    return app


def main() -> None:
    """Serve on the inherited socket whose number is given, until told to stop."""
    logs.plain(logging.WARNING)
    background.stop_with_parent()
    listener = socket.socket(fileno=int(sys.argv[1]))
    build().run(sock=listener, access_log=False, motd=False, debug=False)


if __name__ == "__main__":
    main()
