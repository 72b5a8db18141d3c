"""The webhook for received text messages: any gateway that calls an address over HTTP."""

from __future__ import annotations

import json
import logging
import time
from collections.abc import Awaitable, Callable
from typing import Any

from rasa.core.channels.channel import InputChannel, UserMessage
from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from bot.sms import fill, received
from bot.sms.desk import Desk
from bot.sms.options import Options

logger = logging.getLogger(__name__)


class Sms(InputChannel):  # type: ignore[misc]
    """`/webhooks/sms/webhook`, by POST or GET."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.told = 0.0

    @classmethod
    def name(cls) -> str:
        """The channel's name, which is part of its address."""
        return "sms"

    def blueprint(self, on_new_message: Callable[[UserMessage], Awaitable[Any]]) -> Blueprint:
        """The channel's routes."""
        hook = Blueprint("sms_channel")

        @hook.route("/webhook", methods=["GET", "POST"])
        async def receive(request: Request) -> HTTPResponse:
            if len(request.body) + len(request.query_string) > received.LARGEST:
                return response.json({"error": "The request is too large."}, status=413)
            return await self.answer(request, self.desk.options)

        return hook

    async def answer(self, request: Request, options: Options) -> HTTPResponse:
        """The response to the gateway."""
        told: dict[str, Any] = {}
        try:
            trouble = None
            told = received.posted(request)
        except received.NotReadable as wrong:
            trouble = wrong
        if not received.genuine(request, told, options):
            return self.refused()
        try:
            if trouble:
                raise trouble
            message = received.message(told, options.fields)
        except received.NotReadable as wrong:
            logger.warning("A call of the SMS webhook cannot be read: %s", wrong)
            return response.json({"error": str(wrong)}, status=400)
        reply = await self.desk.receive(message, to_outbox=options.send is not None)
        if options.send is not None or not reply:
            return response.text("")
        words = {"text": reply, "to": message.number, "from": message.to}
        if isinstance(options.body, str):
            body = fill.filled_body(options.body, words, options.type)
        else:
            body = json.dumps(fill.filled(options.body, words), ensure_ascii=False)
        return response.text(body, content_type=options.type)

    def refused(self) -> HTTPResponse:
        """What a caller gets that is not the gateway; logged once a minute."""
        now = time.monotonic()
        if now - self.told > 60 or not self.told:
            self.told = now
            logger.warning("A call of the SMS webhook without the right secret was refused.")
        return response.empty(403)
