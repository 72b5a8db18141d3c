"""A channel of the framework as a way in for text messages.

Its own class reads the gateway's calls and sends the replies; between the two stands the desk, so
that numbers are hashed, STOP holds, and replies are short here too.
"""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable
from typing import Any

from rasa.core.channels.channel import InputChannel, UserMessage
from rasa.shared.utils.common import class_from_module_path
from sanic import Blueprint

from bot.processes import Failed
from bot.sms.desk import Desk
from bot.sms.options import Connector
from bot.sms.received import Received

logger = logging.getLogger(__name__)


class Connected(InputChannel):  # type: ignore[misc]
    """A channel of the framework with the desk behind it."""

    def __init__(self, inner: InputChannel, desk: Desk) -> None:
        self.inner, self.desk = inner, desk

    def name(self) -> str:
        """The inner channel's name, which is part of its address."""
        return str(self.inner.name())

    def url_prefix(self) -> str:
        """Where the inner channel is reached."""
        return str(self.inner.url_prefix())

    def blueprint(self, on_new_message: Callable[[UserMessage], Awaitable[Any]]) -> Blueprint:
        """The inner channel's routes, whose messages come to the desk."""
        return self.inner.blueprint(self.receive)

    async def receive(self, message: UserMessage) -> None:
        """Answer a message through the channel it came by."""
        told = (message.metadata or {}).get("message_id", "")
        reply = await self.desk.receive(
            Received(message.sender_id, message.text or "", str(told or ""))
        )
        if reply:
            await message.output_channel.send_text_message(message.sender_id, reply)


def connect(told: Connector, desk: Desk) -> Connected:
    """The channel of a class, made as the framework makes one. Raises `Failed` with the cure."""
    try:
        kind = class_from_module_path(told.path)
        inner = kind.from_credentials(dict(told.credentials))
    except Exception as error:
        raise Failed(
            f"settings.yml, sms: connector: the channel '{told.path}' cannot be made "
            f"({type(error).__name__}). Check the class and its credentials."
        ) from None
    if not isinstance(inner, InputChannel):
        raise Failed(
            f"settings.yml, sms: connector: '{told.path}' is no channel of the framework. Name a "
            "subclass of rasa.core.channels.channel.InputChannel."
        )
    return Connected(inner, desk)
