"""The webchat's settings: the key `webchat:` of `settings.yml`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bot.settings import section

SCHEMA: dict[str, Any] = {
    "type": "object",
    "additionalProperties": False,
    "properties": {
        "origins": {
            "type": "array",
            "items": {
                "type": "string",
                "pattern": r"^(\*|https?://[A-Za-z0-9.\[\]:-]+)$",
                "description": "Write an origin as the browser does: https://www.merrowdale.example,"
                " with no path and no slash at the end, or '*' for every site.",
            },
        }
    },
}


@dataclass(frozen=True, slots=True)
class Options:
    """`origins` are the sites whose pages may hold the chat; `None`: nothing was said, and local
    pages may as long as the assistant itself is reached on this machine only."""

    origins: tuple[str, ...] | None = None


def read(settings: dict[str, Any]) -> Options:
    """The webchat's part of the settings. Raises `Failed` with the key and a cure."""
    part = section(settings, "webchat", SCHEMA)
    if "origins" not in part:
        return Options()
    return Options(tuple(origin.lower() for origin in part["origins"]))
