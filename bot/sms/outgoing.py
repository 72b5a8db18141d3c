"""Texts that we send of our own accord: an answer that an agent sends to a caller."""

from __future__ import annotations

import secrets
import time

from actions.fitting import MOST, plain
from bot.panel.texting import NotSent
from bot.sms.numbers import valid
from bot.sms.service import Service
from rules.sms import septets


class Outgoing:
    """Sends by the outbox of a service that has one. The number is sealed, and gone once sent."""

    def __init__(self, service: Service) -> None:
        self.service = service

    async def send(self, number: str, text: str) -> None:
        """Send a text. Raises `NotSent` if that number said STOP, or the text is too long."""
        parts = self.service
        to = valid(number, parts.options.country)
        if to is None:
            raise NotSent("That is no phone number. Check it with the caller.")
        name = parts.desk.numbers.name(to)
        if parts.store.texter(name).stopped:
            raise NotSent("This number has asked for no texts (STOP). Read the answer out instead.")
        words = plain(text)
        if septets(words) > MOST:
            raise NotSent("The answer is too long for two texts. Read it out instead.")
        told = {"to": to, "from": parts.options.sender, "text": words}
        sealed = parts.desk.numbers.seal(told)
        parts.store.put(name, secrets.token_hex(16), sealed, time.time())
        if parts.outbox:
            parts.outbox.wake()
