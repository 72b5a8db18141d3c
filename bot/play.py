"""Plays a conversation from a file and says whether each turn went as the file tells."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema

from bot import paths
from bot.processes import Failed
from rules.yamlfile import Document, Mistake, parse

FORM = "transcripts_demo/README.md has the format"
Ask = Callable[..., list[dict[str, Any]]]


def read(path: Path) -> Mapping[str, Any]:
    """A transcript. Raises `Failed` with what is wrong and where."""
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise Failed(f"There is no file {path}.") from None
    except (OSError, UnicodeDecodeError) as problem:
        raise Failed(f"{path} cannot be read: {problem}.") from None
    document, mistakes = checked(path.name, text)
    if mistakes:
        raise Failed(str(mistakes[0]))
    data: Mapping[str, Any] = document.data
    return data


@cache
def validator() -> jsonschema.Draft7Validator:
    """The checker of a transcript's form."""
    path = paths.TRANSCRIPTS / "transcript.schema.json"
    return jsonschema.Draft7Validator(json.loads(path.read_text(encoding="utf-8")))


def checked(name: str, text: str) -> tuple[Document, list[Mistake]]:
    """A transcript from a file's text, and what is wrong with its form."""
    document, mistakes = parse(name, text)
    if not mistakes:
        mistakes = [
            Mistake(name, document.line(tuple(e.absolute_path)), e.message, FORM)
            for e in validator().iter_errors(document.data)
        ]
    if not mistakes:
        try:
            date.fromisoformat(str(document.data["on"]))
        except ValueError:
            what = f"there is no day {document.data['on']}"
            mistakes = [Mistake(name, document.line(("on",)), what, "Write a day there is")]
    return document, mistakes


def wrong(turn: Mapping[str, Any], answer: Mapping[str, Any], text: str) -> Iterator[str]:
    """What a reply does not do that the transcript tells of."""
    kinds = [turn["kind"]] if isinstance(turn["kind"], str) else turn["kind"]
    if answer["kind"] not in kinds:
        yield f"the kind is '{answer['kind']}', not {' or '.join(kinds)}"
    asked = (answer["asks"] or {}).get("condition")
    if "asks" in turn and asked != turn["asks"]:
        yield f"it asks about {asked or 'nothing'}, not {turn['asks']}"
    if "items" in turn:
        yield from wrong_items(turn["items"], answer)
    for words in turn.get("text_has", ()):
        if words.lower() not in text.lower():
            yield f"the text does not say '{words}'"


def wrong_items(expected: list[Mapping[str, Any]], answer: Mapping[str, Any]) -> Iterator[str]:
    """Things not decided as told, and things decided that are not told of."""
    left = list(answer["items"])
    for told in expected:
        found = next((i for i in left if all(i[k] == v for k, v in told.items())), None)
        if found is None:
            there = ", ".join(f"{i['item']}: {i['destination']}" for i in answer["items"])
            yield f"{said(told)} is not in the reply ({there or 'no items'})"
        else:
            left.remove(found)
    for extra in left:
        if extra["destination"] is not None:
            yield f"{said(extra)} is in the reply and not told of"


def said(item: Mapping[str, Any]) -> str:
    """An item for a person to read."""
    container = f", {item['container']}" if item.get("container") else ""
    return f"'{item['item']}: {item['destination']}{container}'"


def play(
    transcript: Mapping[str, Any], ask: Ask, sender: str
) -> Iterator[tuple[str, str, list[str]]]:
    """Say each turn; give the message, the reply's text and what is wrong with it."""
    metadata = {"on": transcript["on"], "channel": transcript["channel"]}
    if transcript["district"]:
        metadata["district"] = transcript["district"]
    for turn in transcript["turns"]:
        messages = ask(turn["say"], sender, **metadata)
        text = "\n".join(m["text"] for m in messages if m.get("text"))
        answers = [m["custom"] for m in messages if "custom" in m]
        if len(answers) != 1:
            yield turn["say"], text, [f"the reply carries {len(answers)} answers, not one"]
            continue
        yield turn["say"], text, list(wrong(turn, answers[0], text))
