"""The language server: the framework's agent and channel, and the pages beside it.

The framework's own server has a page of its own at the root, where the chat page belongs.
"""

from __future__ import annotations

import logging
import os
import socket
import sys
from pathlib import Path
from typing import Any

from bot import background, logs

if __name__ == "__main__":
    background.stop_with_parent()  # the framework takes a while to load; the parent may end in it

logs.configure(logging.WARNING)

from rasa.core.agent import Agent, load_agent  # noqa: E402
from rasa.core.channels.channel import InputChannel, register  # noqa: E402
from rasa.core.utils import AvailableEndpoints  # noqa: E402
from rasa.shared.utils.common import class_from_module_path  # noqa: E402
from rasa.utils.endpoints import EndpointConfig  # noqa: E402
from sanic import Sanic  # noqa: E402

from actions.current import SHELF, VARIABLE, stored  # noqa: E402
from bot import settings, staff  # noqa: E402
from bot.endpoint import Actions  # noqa: E402
from bot.examples import files, playing  # noqa: E402
from bot.pages import assets, front, headers, items, state  # noqa: E402
from bot.privacy import daily  # noqa: E402
from bot.privacy import options as privacy  # noqa: E402
from bot.privacy.mask import masked  # noqa: E402
from bot.processes import Failed  # noqa: E402
from bot.publish import routes as published  # noqa: E402
from bot.readers import follow_book  # noqa: E402
from bot.remarks import Remarks  # noqa: E402
from bot.sms import service as sms  # noqa: E402
from bot.webchat import service as webchat  # noqa: E402
from rules.loader import BOOK  # noqa: E402

CHANNELS = ("bot.channels.rest.Rest",)
"""Classes of the channels; another one is added by its name."""
LARGEST = 100_000
"""Bytes of a request's body."""


def channels() -> list[InputChannel]:
    """The channels, each made as the framework makes one."""
    return [class_from_module_path(name).from_credentials({}) for name in CHANNELS]


def endpoints(data: Path, actions: str) -> AvailableEndpoints:
    """Where the actions run and where conversations are kept."""
    return AvailableEndpoints(
        action=Actions(actions),
        tracker_store=EndpointConfig(
            type="bot.conversations.Conversations", db=str(data / "conversations.db")
        ),
        lock_store=EndpointConfig(type="bot.conversations.Locks"),
    )


def build(model: Path, data: Path, actions: str, host: str = "127.0.0.1") -> Sanic:
    """The app, which listens on a host. The agent is loaded when it starts."""
    app = Sanic("lidwise", configure_logging=False)
    app.config.REQUEST_MAX_SIZE = LARGEST
    app.config.ACCESS_LOG = False
    app.config.KEEP_ALIVE_TIMEOUT = 30
    app.config.GRACEFUL_SHUTDOWN_TIMEOUT = 2.0
    app.ctx.model = model
    app.ctx.rules = Path(os.environ.get("LIDWISE_RULES", BOOK))
    keep_days = privacy.read(settings.load(data))
    headers.install(app)
    for pages in (assets.pages, front.pages, items.pages, state.pages, published.pages):
        app.blueprint(pages)
    app.ctx.remarks = Remarks(data / "remarks.db")
    texts = sms.install(app, data, host)
    webchat.install(app, data)
    staff.install(app, data)
    register([*channels(), *texts], app, route="/webhooks/")

    @app.listener("before_server_start")
    async def begin(app: Sanic, loop: Any) -> None:
        agent: Agent = await load_agent(
            model_path=str(model), endpoints=endpoints(data, actions), loop=loop
        )
        if not agent.is_ready():
            raise SystemExit("The language model could not be loaded.")
        app.ctx.agent = agent
        follow_book(agent)
        await agent.parse_message("pizza box")
        await loop.run_in_executor(None, examples_hold, agent, data, app.ctx.rules)
        app.add_task(playing.serve(agent, data))
        masked("pizza box")
        app.add_task(background.follow(SHELF.refresh))
        app.add_task(app.ctx.desk.keep())
        app.add_task(daily.keep(data, keep_days))

    @app.listener("after_server_stop")
    async def end(app: Sanic, _: Any) -> None:
        agent = getattr(app.ctx, "agent", None)
        if agent is not None:
            await agent.action_endpoint.close()

    return app


def examples_hold(agent: Agent, data: Path, rules: Path) -> None:
    """Play the officer's conversations against the book to start with; end if one fails."""
    texts, _ = files.read(rules)
    name = os.environ.get(VARIABLE)
    if name and files.conversations(texts):
        for mistake in playing.play(agent, data, stored(Path(name)), texts).mistakes:
            raise SystemExit(f"An example no longer gets its right answer. {mistake}")


def main() -> None:
    """Serve on the inherited socket: `server SOCKET MODEL DATA ACTIONS-ADDRESS`."""
    listener = socket.socket(fileno=int(sys.argv[1]))
    host = str(listener.getsockname()[0])
    try:
        app = build(Path(sys.argv[2]), Path(sys.argv[3]), sys.argv[4], host)
    except Failed as failed:
        sys.exit(str(failed))
    app.run(sock=listener, access_log=False, motd=False, debug=False)


if __name__ == "__main__":
    main()
