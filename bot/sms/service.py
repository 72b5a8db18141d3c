"""Puts text messages into the server: the webhook, a channel of the framework, the simulator."""

from __future__ import annotations

import asyncio
import contextlib
from pathlib import Path
from typing import Any

from rasa.core.channels.channel import InputChannel
from sanic import Sanic

from bot import settings
from bot.channels.sms import Sms
from bot.pages import sms_simulator
from bot.sms import options as opts
from bot.sms.answering import Assistant
from bot.sms.connector import connect
from bot.sms.desk import Desk
from bot.sms.numbers import Numbers
from bot.sms.options import Options
from bot.sms.outbox import Outbox
from bot.sms.store import Store
from bot.webchat.origins import loopback

FILE = "sms.db"


class Service:
    """The parts that live as long as the server."""

    def __init__(self, app: Sanic, data: Path, options: Options, numbers: Numbers) -> None:
        self.options = options
        self.store = Store(data / FILE)
        self.outbox = Outbox(options.send, numbers, self.store) if options.send else None
        wake = self.outbox.wake if self.outbox else lambda: None
        self.desk = Desk(options, numbers, self.store, Assistant(lambda: app.ctx.agent), wake)
        self.worker: asyncio.Task[None] | None = None

    def start(self) -> None:
        """Begin to send what waits."""
        if self.outbox:
            self.worker = asyncio.get_running_loop().create_task(self.outbox.run())

    async def stop(self) -> None:
        """Stop sending; what waits is sent after the next start."""
        if self.worker:
            self.worker.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self.worker
        self.store.close()

    def state(self) -> dict[str, Any]:
        """What `/health` says."""
        return {
            "state": "ok",
            "webhook": self.options.webhook,
            "simulator": self.options.simulator,
            "waiting": self.store.waiting(),
            "given_up": self.outbox.given_up if self.outbox else 0,
        }


def install(app: Sanic, data: Path, host: str) -> list[InputChannel]:
    """The channels for text messages. Without settings there are none, unless only this machine
    can reach the server: then there is the simulator."""
    options = opts.read(settings.load(data))
    if options is None:
        if not loopback(host):
            return []
        numbers = Numbers(data)
        options = opts.for_demo(numbers.demo_secret())
    else:
        numbers = Numbers(data, options.country)
    service = Service(app, data, options, numbers)
    app.ctx.sms = service
    if options.simulator:
        app.blueprint(sms_simulator.pages)

    @app.listener("after_server_start")
    async def begin(_: Sanic, __: Any) -> None:
        service.start()

    @app.listener("after_server_stop")
    async def end(_: Sanic, __: Any) -> None:
        await service.stop()

    channels: list[InputChannel] = [Sms(service.desk)] if options.webhook else []
    if options.connector:
        channels.append(connect(options.connector, service.desk))
    return channels
