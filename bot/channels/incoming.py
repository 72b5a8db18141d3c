"""A request's body, checked and cleaned.

What a person may have typed is never refused; what only a program can get wrong is, by the name of
the field.
"""

from __future__ import annotations

import json
import logging
import unicodedata
from dataclasses import dataclass, field
from typing import Any

logger = logging.getLogger(__name__)

READ_FROM_LONG = 2_000
"""Characters that are read of a message that is too long."""
LONG = 5_000
"""Characters from which a message counts as too long."""
SENDER = 255
"""Characters of a sender's name; the store's column has as many."""
KEPT = ("district", "on", "channel")
"""What the metadata may say. Anything else is not kept."""


class Refused(ValueError):
    """A body the program that sent it has to mend. `field` is what is wrong in it."""

    def __init__(self, about: str, message: str) -> None:
        super().__init__(message)
        self.field = about


@dataclass(frozen=True, slots=True)
class Incoming:
    """A message to answer."""

    sender: str
    text: str
    metadata: dict[str, Any] = field(default_factory=dict)


def read(body: bytes) -> Incoming:
    """Read a request's body. Raises `Refused`."""
    try:
        data = json.loads(body.decode("utf-8"))
    except (ValueError, RecursionError):
        raise Refused("body", "The body is not JSON in UTF-8.") from None
    if not isinstance(data, dict):
        raise Refused("body", "The body must be a JSON object with 'sender' and 'message'.")
    sender = text_field(data, "sender")
    if len(sender) > SENDER:
        raise Refused("sender", f"'sender' must have at most {SENDER} characters.")
    message = text_field(data, "message")
    return Incoming(stored(sender), clean(message), metadata(data.get("metadata")))


def text_field(data: dict[str, Any], name: str) -> str:
    """A field that must hold text."""
    if name not in data:
        raise Refused(name, f"'{name}' is missing.")
    value = data[name]
    if not isinstance(value, str):
        raise Refused(name, f"'{name}' must be a string.")
    if not value.strip():
        raise Refused(name, f"'{name}' must not be empty.")
    return value


def stored(sender: str) -> str:
    """A sender's name as a database can hold it: half characters and control codes spelt out."""
    spelt = sender.encode("utf-8", "backslashreplace").decode("utf-8")
    return "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in spelt)


def clean(message: str) -> str:
    """A message as the pipeline can read it, never empty.

    A slash at the start goes: the framework would take what follows for a command.
    """
    if len(message) > LONG:
        logger.warning("A message of %d characters is cut.", len(message))
        message = message[:READ_FROM_LONG]
    whole = message.encode("utf-16", "surrogatepass").decode("utf-16", "replace")
    shown = "".join(" " if unicodedata.category(c) == "Cc" else c for c in whole)
    return shown.strip().lstrip("/ ").strip() or "?"


def metadata(data: Any) -> dict[str, Any]:
    """The part of the metadata that means something here."""
    if data is None:
        return {}
    if not isinstance(data, dict):
        logger.warning("Metadata that is not an object is ignored.")
        return {}
    return {name: data[name] for name in KEPT if name in data}
