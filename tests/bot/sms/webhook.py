"""The SMS webhook alone, on a real port, with a stand-in for the assistant; and a gateway's send
address that can be made to fail. For what is between gateway and assistant, without the 17 seconds
that the whole takes to start."""

from __future__ import annotations

import asyncio
import http.server
import json
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

from rasa.core.channels.channel import register
from sanic import Sanic
from sanic.touchup.service import TouchUp

from bot.channels.sms import Sms
from bot.pages import headers
from bot.sms import options as opts
from bot.sms.connector import connect
from bot.sms.desk import Answer, Desk
from bot.sms.numbers import Numbers
from bot.sms.outbox import Outbox
from bot.sms.store import Store

SECRET = "between-us-two"
ANN, BEN = "07700 900111", "07700 900222"
"""Invented numbers, from the range kept for drama."""
SHARED = {"secret": {"header": "x-key", "secret": SECRET}}


Make = Callable[..., "Hook"]


class Stub:
    """Answers every message with a count, slowly if asked to."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, str, str | None, bool]] = []
        self.seconds = 0.0
        self.says: Callable[[str], Answer] | None = None

    async def __call__(self, sender: str, text: str, district: str | None, afresh: bool) -> Answer:
        self.asked.append((sender, text, district, afresh))
        number = len(self.asked)
        await asyncio.sleep(self.seconds)
        return self.says(text) if self.says else Answer(f"Answer {number}: {text}")


class Hook:
    """The webhook with some settings, on a folder that may have been used before."""

    count = 0

    def __init__(self, data: Path, settings: dict[str, Any], stub: Stub | None = None) -> None:
        self.stub = stub or Stub()
        data.mkdir(parents=True, exist_ok=True)
        options = opts.read({"sms": settings})
        assert options
        self.options = options
        self.numbers = Numbers(data, options.country)
        self.store = Store(data / "sms.db")
        self.outbox = Outbox(options.send, self.numbers, self.store) if options.send else None
        wake = self.outbox.wake if self.outbox else lambda: None
        self.desk = Desk(options, self.numbers, self.store, self.stub, wake)
        Hook.count += 1
        self.app = Sanic(f"hook-{Hook.count}", configure_logging=False)
        self.app.config.ACCESS_LOG = False
        headers.install(self.app)
        channels: list[Any] = [Sms(self.desk)] if options.webhook else []
        if options.connector:
            channels.append(connect(options.connector, self.desk))
        register(channels, self.app, route="/webhooks/")
        self.loop = asyncio.new_event_loop()
        self.ready = threading.Event()
        self.thread = threading.Thread(target=self.run, daemon=True)
        self.thread.start()
        assert self.ready.wait(20)

    def run(self) -> None:
        asyncio.set_event_loop(self.loop)

        async def begin() -> None:
            made = await self.app.create_server(
                host="127.0.0.1", port=0, return_asyncio_server=True, access_log=False
            )
            assert made
            await made.startup()
            TouchUp._registry.clear()  # it rewrites its methods once in a process, no more
            self.server = made
            self.port = made.server.sockets[0].getsockname()[1]
            self.worker = asyncio.ensure_future(self.outbox.run()) if self.outbox else None

        self.loop.run_until_complete(begin())
        self.ready.set()
        self.loop.run_forever()

    def stop(self) -> None:
        async def end() -> None:
            if self.worker:
                self.worker.cancel()
            self.server.close()

        asyncio.run_coroutine_threadsafe(end(), self.loop).result(5)
        time.sleep(0.05)
        self.loop.call_soon_threadsafe(self.loop.stop)
        self.thread.join(5)
        self.store.close()

    def call(
        self,
        body: bytes | str | dict[str, Any] | None = None,
        query: dict[str, str] | None = None,
        path: str = "/webhooks/sms/webhook",
        secret: str | None = SECRET,
        timeout: float = 20,
        **head: str,
    ) -> tuple[int, str]:
        """A gateway's call: JSON for an object, a form for text."""
        if isinstance(body, dict):
            body = json.dumps(body)
            head.setdefault("content-type", "application/json")
        if isinstance(body, str):
            body = body.encode()
        address = f"http://127.0.0.1:{self.port}{path}"
        if query is not None:
            address += "?" + urllib.parse.urlencode(query)
        if secret is not None:
            head["x-key"] = secret
        asked = urllib.request.Request(address, body, head)
        try:
            with urllib.request.urlopen(asked, timeout=timeout) as response:
                return response.status, response.read().decode()
        except urllib.error.HTTPError as error:
            return error.code, error.read().decode()

    def text(self, number: str, text: str, id: str | None = None) -> str:
        body = {"from": number, "text": text, **({"id": id} if id else {})}
        status, reply = self.call(body)
        assert status == 200, reply
        return reply


class SendAddress:
    """A gateway's send address. It answers with the statuses given, then with 200."""

    def __init__(self, *statuses: int) -> None:
        self.statuses = list(statuses)
        self.calls: list[dict[str, Any]] = []
        outer = self

        class Handler(http.server.BaseHTTPRequestHandler):
            def take(self) -> None:
                body = self.rfile.read(int(self.headers.get("content-length") or 0))
                outer.calls.append(
                    {"path": self.path, "body": body.decode(), "headers": dict(self.headers)}
                )
                self.send_response(outer.statuses.pop(0) if outer.statuses else 200)
                self.send_header("content-length", "0")
                self.end_headers()

            do_GET = do_POST = take

            def log_message(self, *_: Any) -> None:
                pass

        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.url = f"http://127.0.0.1:{self.server.server_port}/send"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def sent(self, number: int, seconds: float = 15) -> list[dict[str, Any]]:
        """The calls, once there are so many."""
        end = time.monotonic() + seconds
        while len(self.calls) < number and time.monotonic() < end:
            time.sleep(0.02)
        assert len(self.calls) >= number, self.calls
        return self.calls

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()


def sending(address: SendAddress, **more: Any) -> dict[str, Any]:
    fields = {"to": "{to}", "sender": "{from}", "message": "{text}", "ref": "{ref}"}
    send = {"url": address.url, "fields": fields, "wait": 0.05, **more}
    return {**SHARED, "reply": "send", "send": send}
