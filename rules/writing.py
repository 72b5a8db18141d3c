"""Writes data as the rule files are laid out, by the YAML library's own writer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import yaml

IN_BRACKETS = ("also", "ask", "assume", "when", "or", "cautious", "gives", "numbers", "letters")
"""Fields whose value the rule files write in brackets."""


def written(name: str) -> str:
    """A name as a list in brackets holds it, in quotes where it needs them."""
    text: str = yaml.safe_dump([name], default_flow_style=True, width=9999, allow_unicode=True)
    return text.strip()[1:-1]


def dumped(data: Mapping[str, Any]) -> str:
    """Data in lines, as it stands in a rule file."""
    text: str = yaml.dump(
        styled(data), Dumper=Dumper, sort_keys=False, allow_unicode=True, width=9999
    )
    return text


class Dumper(yaml.SafeDumper):
    """Writes an entry as the rule files do."""

    def increase_indent(self, flow: bool = False, indentless: bool = False) -> None:
        """Dashes of a list stand further in than its name."""
        super().increase_indent(flow, False)

    def ignore_aliases(self, data: Any) -> bool:
        """Nothing is written by reference."""
        return True


class Brackets(dict):  # type: ignore[type-arg]
    """A mapping to write in brackets."""


class Listed(list):  # type: ignore[type-arg]
    """A list to write in brackets."""


Dumper.add_representer(
    Brackets, lambda d, v: d.represent_mapping("tag:yaml.org,2002:map", v.items(), True)
)
Dumper.add_representer(Listed, lambda d, v: d.represent_sequence("tag:yaml.org,2002:seq", v, True))


def styled(value: Any, brackets: bool = False) -> Any:
    """Data marked with how it is to be written."""
    if isinstance(value, Mapping):
        made = {str(k): styled(v, brackets or k in IN_BRACKETS) for k, v in value.items()}
        return Brackets(made) if brackets else made
    if isinstance(value, (list, tuple)):
        parts = [styled(v, brackets) for v in value]
        return Listed(parts) if brackets else parts
    return value
