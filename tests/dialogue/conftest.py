"""One loaded assistant for all dialogue tests of a process, and the contract's schema."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from talking import DAY, NUMBER, Answer, Talk

from bot import logs, paths

logs.configure()


@pytest.fixture(scope="session")
def assistant() -> Any:
    """The trained assistant, in process."""
    from bot.assistant import Assistant
    from bot.training import is_current, model_file

    assert is_current(paths.DATA), "The model is older than its sources: run 'lidwise train'."
    return Assistant(model_file(paths.DATA))


@pytest.fixture(scope="session")
def contract() -> jsonschema.Draft7Validator:
    """The checker of machine-readable answers."""
    path = paths.PROJECT / "actions" / "answer.schema.json"
    return jsonschema.Draft7Validator(json.loads(path.read_text(encoding="utf-8")))


@pytest.fixture(scope="session")
def say(assistant: Any, contract: jsonschema.Draft7Validator) -> Callable[..., dict[str, Any]]:
    """Says a message; gives the answer, checked against the contract, with the text beside it."""
    from bot.assistant import answer_of, text_of

    def speak(message: str, sender: str | None = None, **metadata: Any) -> dict[str, Any]:
        messages = assistant.say(message, sender, **metadata)
        answer = answer_of(messages)
        contract.validate(answer)
        return {**answer, "text": text_of(messages)}

    return speak


@pytest.fixture
def talk(say: Any) -> Talk:
    """Says a message in one conversation, in Pellbrook on a fixed day unless told otherwise."""
    sender = f"conversation-{next(NUMBER)}"

    def speak(message: str, **metadata: Any) -> Answer:
        return dict(say(message, sender, **{"district": "pellbrook", "on": DAY, **metadata}))

    return speak


@pytest.fixture
def anywhere(say: Any) -> Talk:
    """Says a message in one conversation whose channel names no district."""
    sender = f"conversation-{next(NUMBER)}"

    def speak(message: str, **metadata: Any) -> Answer:
        return dict(say(message, sender, **{"on": DAY, **metadata}))

    return speak


def shipped(name: str) -> Path:
    """A file of the project."""
    return paths.PROJECT / name
