"""A book that is not in force answers as it would if it were."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from talking import DAY

from actions.current import SHELF
from bot import paths
from bot.assistant import answer_of, text_of
from bot.play import play, read
from bot.trial import Chat, Trial
from rules.edit import add_item, add_name
from rules.loader import BOOK, load_texts, read_files

FILES = sorted(paths.TRANSCRIPTS.glob("*.yml"))
TEXTS = read_files(BOOK)


@pytest.fixture(scope="module")
def same(assistant: Any) -> Chat:
    """The very book that is in force."""
    return Chat(Trial(assistant.agent, load_texts(TEXTS)))


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_same_book_same_answers(path: Path, same: Chat, assistant: Any) -> None:
    """Word for word and field for field what the framework's own dialogue says."""
    told: dict[str, list[Any]] = {}
    for name, ask in (("trial", same.say), ("framework", assistant.say)):
        kept = told.setdefault(name, [])

        def heard(*args: Any, ask: Any = ask, kept: Any = kept, **more: Any) -> Any:
            messages = ask(*args, **more)
            kept.append((text_of(messages), json.dumps(answer_of(messages), sort_keys=True)))
            return messages

        list(play(read(path), heard, f"trial-{path.stem}"))
    assert told["trial"] == told["framework"] != []


def test_another_book_answers_otherwise_and_the_one_in_force_stays(assistant: Any) -> None:
    question = "where does a glockenspiel beater go"
    before = SHELF.current()
    assert [i["item"] for i in asked(assistant.say(question, district="oxmere", on=DAY))] == [None]
    texts = {**TEXTS, **add_name(TEXTS, "pizza_box", "glockenspiel beater")}
    trial = Trial(assistant.agent, load_texts(texts))
    first = trial.say(question, district="oxmere", on=date.fromisoformat(DAY))
    assert [i["item"] for i in first.answer["items"]] == ["pizza_box"]
    assert first.answer["asks"]["condition"] == "food_origin"
    second = trial.say("takeaway", first.state, district="oxmere", on=date.fromisoformat(DAY))
    assert [i["destination"] for i in second.answer["items"]] == ["residual"]
    assert [i["item"] for i in asked(assistant.say(question, district="oxmere", on=DAY))] == [None]
    assert SHELF.current() is before


def test_item_of_the_trial_as_a_text_message(assistant: Any) -> None:
    entry = {
        "name": "glockenspiel beater",
        "source": "common practice",
        "outcomes": [{"goes": "residual", "why": "It is made of several things."}],
    }
    texts = {**TEXTS, **add_item(TEXTS, "items/home.yml", "glockenspiel_beater", entry)}
    trial = Trial(assistant.agent, load_texts(texts))
    long = trial.say("glockenspiel beaters", district="oxmere")
    short = trial.say("glockenspiel beaters", district="oxmere", channel="sms")
    assert long.answer == short.answer
    assert [i["destination"] for i in long.answer["items"]] == ["residual"]
    assert 0 < len(short.worded.text) <= 160 and short.worded.text != long.worded.text


def asked(messages: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return list(answer_of(messages)["items"])
