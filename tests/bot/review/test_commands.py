"""`lidwise review` in the terminal."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner

from bot.cli import app
from bot.review.commands import found
from tests.bot.review.rows import keep, left, row, unknown

RUN = CliRunner()


@pytest.fixture
def lidwise(board, monkeypatch):
    # The last test reads the rule files anew, as a person's command does each time.
    monkeypatch.setattr("bot.review.commands.board_of", lambda data, rules: board)
    data = board.rules.parent / "data"
    keep(
        data,
        unknown("my old theremin"),
        unknown("theremins", channel="sms"),
        unknown("a zither", rule="dangers.yml: powered", goes="recycling_centre"),
        left("paint", "contents", "old [paint]"),
        row("wot abt [it]", "unclear", district=None),
    )

    def run(*arguments: str, code: int = 0) -> str:
        where = ("--data-dir", str(data), "--rules", str(board.rules))
        ended = RUN.invoke(app, ["review", *arguments, *where])
        assert ended.exit_code == code, ended.stdout + ended.stderr
        assert "Traceback" not in ended.stdout + ended.stderr
        return ended.stdout if code == 0 else ended.stderr

    return run


def test_list_is_a_table_most_asked_first(lidwise):
    lines = lidwise().splitlines()
    assert lines[0].split() == ["N", "asked", "what", "why", "last"]
    assert lines[1].split()[:3] == ["1", "2", "theremin"]
    text = " ".join(" ".join(lines).split())
    assert "zither [hazard: powered]" in text and "wot abt [it]" in text


def test_list_for_a_program_and_filtered(lidwise):
    told = json.loads(lidwise("--json"))
    assert told[0]["title"] == "theremin" and told[0]["words"] == {
        "my old theremin": 1,
        "theremins": 1,
    }
    assert [e["channel"] for e in told[0]["entries"]] == ["webchat", "sms"]
    (only,) = json.loads(lidwise("--json", "--channel", "sms"))
    assert only["asked"] == 1
    assert "nothing to look at" in lidwise("--state", "mended")
    # A number stays that of the whole list.
    assert lidwise("--why", "unclear").splitlines()[1].split()[0] != "1"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--why", "x"), "--why 'x' is none of: unknown,"),
        (("--state", "x"), "--state 'x' is none of: open,"),
        (("--order", "x"), "--order 'x' is none of: asked,"),
        (("--from", "yesterday"), "--from 'yesterday' is no date"),
        (("show", "99"), "There is no entry 99. The list has 4."),
        (("show", "0"), "There is no entry 0."),
        (("show", "x"), "There is no entry with the key 'x'."),
        (("name", "1", "no such"), "There is no item 'no such'."),
        (("name", "1", "duvet", "--name", "pizza box"), "already a name"),
        (("dismiss", "1", "--because", " "), "Say why"),
        (("item", "1", "--name", "x", "--file", "items/home.yml"), "Choose where it goes"),
    ],
)
def test_wrong_words_are_told_in_a_line(lidwise, arguments, said):
    assert said in lidwise(*arguments, code=1)


def test_show_tells_questions_and_nearest(lidwise):
    told = lidwise("show", "1")
    assert "asked 2 times" in told and "where does my old theremin go" in told
    assert "no item is like it" in told
    paint = lidwise("show", "question-paint-contents")
    assert "left at a question (1)" in paint
    assert json.loads(lidwise("show", "1", "--json"))["asked"] == 2


def test_name_and_item_make_changes(lidwise, board):
    assert "Nothing is in force yet" in lidwise("name", "1", "duvet", "--by", "officer")
    (change,) = board.changes.all()
    assert change.by == "officer"
    assert change.edits == ({"add_name": {"item": "duvet", "name": "theremin"}},)
    (key,) = [g["key"] for g in json.loads(lidwise("--json")) if g["title"] == "zither"]
    lidwise(*("item", key, "--name", "zither", "--file", "items/home.yml", "--like", "Duvet"))
    assert {c.title for c in board.changes.all()} >= {"New item: zither"}


def test_dismiss_and_reopen(lidwise, board):
    told = lidwise("dismiss", "1", "--because", "A joke.", "--by", "officer")
    key = told.split()[-1].rstrip(".")
    assert "theremin" not in lidwise()
    assert "A joke." in lidwise("--state", "dismissed", "--json")
    assert found(board, key).decision.by == "officer"
    lidwise("reopen", key)
    lidwise("later", "1")
    assert "theremin" not in lidwise()


def test_nothing_to_look_at(board):
    where = ["--data-dir", str(board.rules.parent / "empty"), "--rules", str(board.rules)]
    ended = RUN.invoke(app, ["review", *where])
    assert ended.exit_code == 0 and "nothing to look at" in ended.stdout
