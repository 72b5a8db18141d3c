"""How long what residents said is kept: the key `privacy` of the settings file."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bot.settings import section

KEEP = 90
"""Days, where nothing is set: enough to look into a complaint about an answer, and for the review
of a season. Common practice, no source."""
SCHEMA: dict[str, Any] = {
    "type": "object",
    "additionalProperties": False,
    "properties": {"keep_days": {"type": "integer", "minimum": 0, "maximum": 3650}},
}


def read(settings: Mapping[str, Any]) -> int:
    """Days that conversations are kept; 0: for ever. Raises `Failed` with the cure."""
    return int(section(settings, "privacy", SCHEMA).get("keep_days", KEEP))
