"""The settings file in the data folder. Each feature reads its own top-level key."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import jsonschema
import yaml

from bot.processes import Failed

FILE = "settings.yml"


def load(data: Path) -> dict[str, Any]:
    """The parsed mapping of `<data>/settings.yml`; `{}` if the file is missing or empty.

    Raises `Failed` with file, line and cure if it is no YAML mapping.
    """
    path = data / FILE
    try:
        text = path.read_text(encoding="utf-8")
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise Failed(f"{path} cannot be read ({error}). Save it as a text file in UTF-8.") from None
    try:
        found = yaml.safe_load(text)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = f", line {mark.line + 1}" if mark else ""
        problem = getattr(error, "problem", None) or "it is no YAML"
        raise Failed(f"{path}{line}: {problem}. Put that right, or move the file away.") from None
    if found is None:
        return {}
    if not isinstance(found, dict):
        raise Failed(f"{path}, line 1: it must hold names and values, such as 'panel:'.")
    return found


def section(settings: Mapping[str, Any], name: str, schema: Mapping[str, Any]) -> dict[str, Any]:
    """One feature's part of the settings, checked. Raises `Failed` with the key and the cure."""
    part = settings.get(name)
    part = {} if part is None else part
    checker = jsonschema.Draft7Validator(schema)
    for error in sorted(checker.iter_errors(part), key=lambda e: list(map(str, e.path))):
        where = ".".join([name, *map(str, error.path)])
        if error.validator == "additionalProperties":
            allowed = error.schema.get("properties", {})
            unknown = ", ".join(k for k in error.instance if k not in allowed)
            known = ", ".join(allowed)
            raise Failed(f"{FILE}: '{where}' has no setting '{unknown}'. There are: {known}.")
        raise Failed(f"{FILE}: '{where}': {error.message}. Put that right and start again.")
    return dict(part)
