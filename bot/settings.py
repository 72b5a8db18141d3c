"""The settings of an installation: `settings.yml` in the data folder, if there is one.

Each feature reads its own top-level key and checks it in its own module.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import jsonschema
import yaml

from bot.processes import Failed

NAME = "settings.yml"


def load(data: Path) -> dict[str, Any]:
    """What `settings.yml` in a data folder says, `{}` without one. Raises `Failed` if it cannot be
    read."""
    path = data / NAME
    try:
        text = path.read_text(encoding="utf-8")
    except (FileNotFoundError, NotADirectoryError):  # the folder is looked at elsewhere
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise Failed(f"{path} cannot be read ({error}). Save it as UTF-8 text.") from None
    try:
        found = yaml.safe_load(text)
    except yaml.MarkedYAMLError as error:
        line = error.problem_mark.line + 1 if error.problem_mark else 1
        raise Failed(
            f"{path}, line {line}: {error.problem}. Write it as 'name: value' lines."
        ) from None
    except yaml.YAMLError:
        raise Failed(f"{path}: this is no YAML. Write it as 'name: value' lines.") from None
    if found is None:
        return {}
    if not isinstance(found, dict):
        raise Failed(f"{path}, line 1: these are no settings. Write them as 'name: value' lines.")
    return found


def check(data: Path) -> None:
    """Read the settings before anything is started. Raises `Failed` with what to mend."""
    from bot.access import settings as access
    from bot.privacy import options as privacy
    from bot.sms import options as sms
    from bot.webchat import options as webchat

    settings = load(data)
    access.read(settings)
    privacy.read(settings)
    sms.read(settings)
    webchat.read(settings)


def section(settings: Mapping[str, Any], name: str, schema: Mapping[str, Any]) -> dict[str, Any]:
    """One feature's part of the settings, checked. Raises `Failed` with the key and the cure."""
    part = settings.get(name)
    part = {} if part is None else part
    checker = jsonschema.Draft7Validator(schema)
    for error in sorted(checker.iter_errors(part), key=lambda e: len(e.absolute_path)):
        where = ": ".join([name, *map(str, error.absolute_path)])
        raise Failed(f"{NAME}, {where}: {cure(error)}")
    return dict(part)


def cure(error: jsonschema.ValidationError) -> str:
    """What is wrong and what to do, without the value: that may be a secret."""
    if error.validator == "additionalProperties" and isinstance(error.instance, dict):
        known = sorted(error.schema.get("properties", {}))
        odd = sorted(set(error.instance) - set(known), key=str)
        return f"'{odd[0]}' is no setting here. There are: {', '.join(known)}."
    if error.validator == "required":
        missing = [n for n in error.validator_value if n not in error.instance]
        return f"'{missing[0]}' is missing. Add it."
    if error.validator == "oneOf":
        names = [n for o in error.validator_value for n in o.get("required", ())]
        if names:
            return f"give exactly one of {' and '.join(repr(n) for n in names)}."
    if error.validator == "enum":
        return f"this must be one of: {', '.join(map(str, error.validator_value))}."
    if error.validator == "not":
        unwanted = " and ".join(map(repr, error.validator_value.get("required", ())))
        return f"{unwanted} do not go together. Give one of them."
    if error.validator == "pattern" and "description" in error.schema:
        return f"this is not as it should be. {error.schema['description']}"
    if error.validator in ("minimum", "maximum", "exclusiveMinimum"):
        return f"this number must be {error.validator} {error.validator_value}."
    if error.validator == "minLength":
        return f"this must have at least {error.validator_value} characters."
    if error.validator == "type":
        return f"this must be of the kind '{error.validator_value}'."
    return "this is not as it should be. README.md shows an example."
