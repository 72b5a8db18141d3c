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
CHANNELS = ("webchat", "sms", "panel", "rest")
"""What a message may say it came by. An officer's trial is none of these."""
LABEL = 80
"""Characters of the metadata's words that are read."""
"""What the metadata may say. Anything else is not kept."""
MESSAGE_ID = 64
"""Characters of the id a channel may give a message, `message_id` in the metadata."""


class Refused(ValueError):
    """A body the program that sent it has to mend. `field` is what is wrong in it."""

    def __init__(self, about: str, message: str) -> None:
        super().__init__(message)
        self.field = about


@dataclass(frozen=True, slots=True)
class Incoming:
    """A message to answer. With an id, sent again it is the same message."""

    sender: str
    text: str
    metadata: dict[str, Any] = field(default_factory=dict)
    message_id: str | None = None


def json_object(body: bytes, fields: str = "") -> dict[str, Any]:
    """A body as a JSON object; `fields` tells what it should hold. Raises `Refused`."""
    try:
        data = json.loads(body.decode("utf-8"))
    except (ValueError, RecursionError):
        raise Refused("body", "The body is not JSON in UTF-8.") from None
    if not isinstance(data, dict):
        with_them = f" with {fields}" if fields else ""
        raise Refused("body", f"The body must be a JSON object{with_them}.")
    return data


def read(body: bytes) -> Incoming:
    """Read a request's body. Raises `Refused`."""
    data = json_object(body, "'sender' and 'message'")
    sender = text_field(data, "sender")
    if len(sender) > SENDER:
        raise Refused("sender", f"'sender' must have at most {SENDER} characters.")
    message = text_field(data, "message")
    more = data.get("metadata")
    return Incoming(stored(sender), clean(message), metadata(more), message_id(more))


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
    told = {name: data[name] for name in KEPT if name in data}
    if "channel" in told and told["channel"] not in CHANNELS:
        logger.warning(
            "Unknown channel %.40r in the message's metadata is ignored.", told["channel"]
        )
        del told["channel"]
    return {name: v[:LABEL] if isinstance(v, str) else v for name, v in told.items()}


def message_id(data: Any) -> str | None:
    """The id in the metadata; one that cannot be an id is passed over and logged."""
    found = data.get("message_id") if isinstance(data, dict) else None
    if found is None or (isinstance(found, str) and 0 < len(found) <= MESSAGE_ID):
        return found
    logger.warning("Bad message_id %.40r in the message's metadata is ignored.", found)
    return None
