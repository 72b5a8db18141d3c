"""The webchat's settings: the key `webchat:` of `settings.yml`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import jsonschema

from bot.processes import Failed

SCHEMA = {
    "type": "object",
    "additionalProperties": False,
    "properties": {
        "origins": {
            "type": "array",
            "items": {"type": "string", "pattern": r"^(\*|https?://[A-Za-z0-9.\[\]:-]+)$"},
        }
    },
}
ORIGIN = (
    "Write an origin as the browser does: https://www.merrowdale.example, with no path and no "
    "slash at the end, or '*' for every site."
)


@dataclass(frozen=True, slots=True)
class Options:
    """`origins` are the sites whose pages may hold the chat; `None`: nothing was said, and local
    pages may as long as the assistant itself is reached on this machine only."""

    origins: tuple[str, ...] | None = None


def read(settings: dict[str, Any]) -> Options:
    """The webchat's part of the settings. Raises `Failed` with the key and a cure."""
    part = settings.get("webchat")
    if part is None:
        return Options()
    for error in jsonschema.Draft7Validator(SCHEMA).iter_errors(part):
        where = ".".join(["webchat", *(str(step) for step in error.absolute_path)])
        if error.validator == "additionalProperties":
            strange = ", ".join(sorted(set(map(str, part)) - set(SCHEMA["properties"])))
            raise Failed(f"settings.yml, webchat: unknown key '{strange}'. There is: origins.")
        if error.validator == "pattern":
            raise Failed(f"settings.yml, {where}: '{error.instance}' is no origin. {ORIGIN}")
        kind = "a list of origins" if where == "webchat.origins" else "text"
        kind = "a mapping with the key 'origins'" if where == "webchat" else kind
        raise Failed(f"settings.yml, {where}: this must be {kind}. {ORIGIN}")
    if "origins" not in part:
        return Options()
    return Options(tuple(origin.lower() for origin in part["origins"]))
