"""The settings of an installation: `settings.yml` in the data folder, if there is one.

Each feature reads its own top-level key and checks it in its own module.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

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
    from bot.sms import options as sms
    from bot.webchat import options as webchat

    settings = load(data)
    sms.read(settings)
    webchat.read(settings)
