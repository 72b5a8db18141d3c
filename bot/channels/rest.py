"""The framework's REST channel, which always answers: with the contract, or with what to mend."""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable
from typing import Any

from rasa.core.agent import Agent
from rasa.core.channels.channel import CollectingOutputChannel, UserMessage
from rasa.core.channels.rest import RestInput
from rasa.shared.core.events import UserUttered
from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from actions.handlers import channel_day, channel_district, short
from actions.reply import Reply, contract
from actions.wording import render
from bot.channels.incoming import Incoming, Refused, read
from bot.channels.once import Once

logger = logging.getLogger(__name__)

OnMessage = Callable[[UserMessage], Awaitable[Any]]


class Rest(RestInput):  # type: ignore[misc]
    """`POST /webhooks/rest/webhook`: one message in, the messages of the reply out.

    The framework's own would answer a failure with an empty list, and wrong input with status 500.
    A sender's message with an id (`message_id` in the metadata) that comes again is not answered
    again: its sender gets the same reply, for some minutes.
    """

    def blueprint(self, on_new_message: OnMessage) -> Blueprint:
        """The channel's routes."""
        hook = Blueprint("rest_channel")
        once: Once[list[dict[str, Any]]] = Once()

        @hook.get("/")
        async def health(_: Request) -> HTTPResponse:
            return response.json({"status": "ok"})

        @hook.post("/webhook")
        async def receive(request: Request) -> HTTPResponse:
            try:
                incoming = read(request.body)
            except Refused as refused:
                told = {"error": str(refused), "field": refused.field}
                return response.json(told, status=400)
            agent = request.app.ctx.agent

            async def attempt() -> list[dict[str, Any]] | None:
                return await attempted(incoming, on_new_message, agent, self.name())

            if incoming.message_id is None:
                messages = await attempt()
            else:
                messages = await once.get((incoming.sender, incoming.message_id), attempt)
            return response.json(messages or failure(incoming))

        return hook


async def answered(
    incoming: Incoming, on_new_message: OnMessage, agent: Agent, channel: str
) -> list[dict[str, Any]]:
    """The messages of the reply; whatever fails, they are one reply with one contract."""
    messages = await attempted(incoming, on_new_message, agent, channel)
    return messages or failure(incoming)


async def attempted(
    incoming: Incoming, on_new_message: OnMessage, agent: Agent, channel: str
) -> list[dict[str, Any]] | None:
    """The messages of the reply, or `None` if the program could not give one."""
    out = CollectingOutputChannel()
    message = UserMessage(
        incoming.text,
        out,
        incoming.sender,
        input_channel=channel,
        message_id=incoming.message_id,
        metadata=incoming.metadata,
    )
    try:
        await on_new_message(message)
    except Exception:
        logger.exception("A message could not be answered.")
        await keep(agent, message)
    if sum("custom" in m for m in out.messages) != 1:
        logger.error("A message got no answer; the lines above say why. It said so to the sender.")
        return None
    return list(out.messages)


def failure(incoming: Incoming) -> list[dict[str, Any]]:
    """The reply that says sorry and names the contact centre."""
    book = SHELF.current()
    reply = Reply(
        kind="unclear",
        parts=(("failure", {}),),
        district=channel_district(book, incoming.metadata),
        on=channel_day(incoming.metadata),
    )
    worded = render(book, reply, short=short(incoming.metadata))
    to = {"recipient_id": incoming.sender}
    return [{**to, "text": worded.text}, {**to, "custom": contract(book, reply)}]


async def keep(agent: Agent, message: UserMessage) -> None:
    """Keep a message that was not understood for want of the program, as the framework would."""
    try:
        async with agent.lock_store.lock(message.sender_id):
            tracker = await agent.tracker_store.get_or_create_tracker(message.sender_id)
            tracker.update(
                UserUttered(
                    message.text,
                    input_channel=message.input_channel,
                    message_id=message.message_id,
                    metadata=message.metadata,
                ),
                agent.domain,
            )
            await agent.tracker_store.save(tracker)
    except Exception:
        logger.exception("The message could not be kept either.")
