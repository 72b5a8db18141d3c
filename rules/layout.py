"""Where each value of a YAML text stands, so that one can be changed and all else left alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import yaml

from rules.yamlfile import FAST


@dataclass(slots=True)
class Piece:
    """A value and the part of the text that writes it; `end` is after its last character.

    `flow` is whether it is written in brackets. `keys` and `parts` are a mapping's keys and
    values, `parts` alone a list's. An alias is a piece without parts.
    """

    kind: str
    start: int
    end: int
    flow: bool = False
    text: str = ""
    keys: list[Piece] = field(default_factory=list)
    parts: list[Piece] = field(default_factory=list)

    def part(self, *path: str) -> Piece | None:
        """The value at a path of keys."""
        here: Piece | None = self
        for name in path:
            if here is None or here.kind != "mapping":
                return None
            found = (v for k, v in zip(here.keys, here.parts, strict=True) if k.text == name)
            here = next(found, None)
        return here


def pieces(text: str) -> Piece | None:
    """The whole of a text, or nothing if it is empty. Raises `yaml.YAMLError`."""
    events: Iterator[Any] = (
        e
        for e in yaml.parse(text, Loader=FAST)
        if not isinstance(e, (yaml.StreamStartEvent, yaml.DocumentStartEvent))
    )
    first: Any = next(events, None)
    if first is None or isinstance(first, (yaml.StreamEndEvent, yaml.DocumentEndEvent)):
        return None
    return read(text, first, events)


BOM = "\ufeff"
"""A mark some editors put before a text. The YAML reader does not count it."""


def read(text: str, event: Any, events: Iterator[Any]) -> Piece:
    """One value, from the event it begins with."""
    skipped = int(text.startswith(BOM))
    start, end = event.start_mark.index + skipped, event.end_mark.index + skipped
    if isinstance(event, yaml.ScalarEvent):
        if event.style in ("|", ">"):
            end = len(text[:end].rstrip())
        return Piece("scalar", start, end, text=event.value)
    if isinstance(event, yaml.AliasEvent):
        return Piece("alias", start, end)
    mapping = isinstance(event, yaml.MappingStartEvent)
    made = Piece("mapping" if mapping else "list", start, end, bool(event.flow_style))
    inner: Any
    for inner in events:
        mark = inner.end_mark
        if isinstance(inner, (yaml.MappingEndEvent, yaml.SequenceEndEvent)):
            if made.flow:
                made.end = mark.index + skipped
            break
        if mapping:
            made.keys.append(read(text, inner, events))
            inner = next(events)
        made.parts.append(read(text, inner, events))
        made.end = max(made.end, made.parts[-1].end, *(k.end for k in made.keys[-1:]))
    return made


def column(text: str, place: int) -> int:
    """How many characters of its line stand before a place."""
    return place - line_start(text, place)


def line_start(text: str, place: int) -> int:
    """Where the line of a place begins."""
    return text.rfind("\n", 0, place) + 1


def line_end(text: str, place: int) -> int:
    """Where the line of a place ends, before its line break."""
    end = text.find("\n", place)
    end = len(text) if end < 0 else end
    return end - 1 if text[:end].endswith("\r") and end > place else end


def line_break(text: str) -> str:
    """How the text ends its lines."""
    return "\r\n" if "\r\n" in text else "\n"
