"""Sending a text message to a caller. The SMS channel provides it; without one there is none."""

from __future__ import annotations

import re
from typing import Protocol


class NotSent(Exception):
    """A message that did not go out; the text says why and what to do."""


class Texting(Protocol):
    """What sends text messages. It neither keeps nor logs the number."""

    async def send(self, number: str, text: str) -> None:
        """Send a text to a number in figures, `+` in front for another country.

        Raises `NotSent`.
        """


HOW = (
    "Text messages are not set up. Whoever looks after this service connects a gateway with the "
    "key 'sms' of settings.yml, with an address to send by ('reply: send')."
)


def number_of(typed: str) -> str | None:
    """A phone number in figures, or nothing if it is none.

    10 figures is the shortest national number with its 0 (common practice, no source); 15 the
    longest international one (ITU-T E.164, from memory).
    """
    bare = re.sub(r"[\s().\u2010-\u2015-]", "", typed)
    return bare if re.fullmatch(r"\+?[0-9]{10,15}", bare) else None
