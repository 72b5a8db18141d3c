"""The officer's examples: conversations are played against a book before it comes into force."""

from __future__ import annotations

import json
import re
import threading
import time
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from actions.current import store
from bot import paths
from bot.changes import proving
from bot.changes.judging import Judge
from bot.changes.store import Changes
from bot.checking import Verdict
from bot.examples import making, playing
from bot.examples.conversations import Played, form, run
from bot.play import checked
from bot.record.entry import Entry
from bot.trial import Trial
from bot.watch import Keeper
from rules.edit import add_name
from rules.finding import Finding
from rules.loader import BOOK, load_texts, read_files
from rules.model import Place

TEXTS = read_files(BOOK)
NAME = "examples/conversations/strainer.yml"
EXAMPLE = """about: A strainer is metal.
shows: a new name
channel: webchat
district: oxmere
on: 2026-12-01
turns:
  - say: where does a flummet strainer go
    kind: answer
    items:
      - item: metal_lid
        destination: mixed_recycling
"""
WITH_NAME = {**TEXTS, **add_name(TEXTS, "metal_lid", "flummet strainer")}


@pytest.fixture(scope="module")
def trials(assistant: Any) -> dict[str, Trial]:
    return {
        "without": Trial(assistant.agent, load_texts(TEXTS)),
        "with": Trial(assistant.agent, load_texts(WITH_NAME)),
    }


def test_every_demo_conversation_is_an_example(trials: dict[str, Trial]) -> None:
    files = sorted(paths.TRANSCRIPTS.glob("*.yml"))
    texts = {f"examples/conversations/{f.name}": f.read_text(encoding="utf-8") for f in files}
    played = run(trials["without"], texts)
    assert played.mistakes == ()
    assert played.conversations == len(files) and played.turns > len(files)


def test_failing_example_tells_file_line_what_was_expected_and_what_came(
    trials: dict[str, Trial],
) -> None:
    assert run(trials["with"], {NAME: EXAMPLE}) == Played(1, 1, ())
    played = run(trials["without"], {NAME: EXAMPLE})
    assert str(played.mistakes[0]) == (
        f"{NAME}, line 7: after 'where does a flummet strainer go' "
        "the kind is 'cautious', not answer. "
        "Mend the rule, or correct the example if the new answer is right"
    )
    assert {(m.place, m.severity) for m in played.mistakes} == {(Place(NAME, 7), "error")}
    assert "'metal_lid: mixed_recycling' is not in the reply (None: residual)" in str(played)


def test_example_in_a_wrong_form_is_a_mistake() -> None:
    right, wrong = form(
        {NAME: EXAMPLE.replace("kind: answer", "kind: anser"), "examples/x.yml": ""}
    )
    assert right == {}
    assert [m.place for m in wrong] == [Place(NAME, 8)]


# The judgement of a change


def light(old: Any, new: Any) -> proving.Proved:
    """A proof that only loads the book; the real one is tested beside the rules."""
    version = load_texts(proving.split(new)[0]).version
    return proving.Proved(version, (), 1, 0, (), {})


@pytest.fixture
def changes(tmp_path: Path) -> Changes:
    for name, text in TEXTS.items():
        path = tmp_path / "book" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return Changes(tmp_path / "data", tmp_path / "book")


def test_judgement_plays_examples_and_tries_questions(changes: Changes, assistant: Any) -> None:
    judge = Judge(changes, assistant.agent)
    judge.prove = light
    example = making.propose(changes, "Strainer!", EXAMPLE, by="ann")
    assert list(example.files) == [NAME]
    assert [m.place for m in judge.of(example).errors][:1] == [Place(NAME, 7)]
    edit = {"add_name": {"item": "metal_lid", "name": "flummet strainer"}}
    asked = {"questions": [{"say": "where does a flummet strainer go", "district": "oxmere"}]}
    rule = changes.propose_edits("x", [edit], by="ann", about=asked)
    both = changes.join(rule.id, example.id, "ann")
    found = judge.of(both)
    assert found.errors == () and found.played == Played(1, 1, ())
    (tried,) = found.tried
    assert [i["destination"] for i in tried.before["items"]] == ["residual"]
    assert [i["item"] for i in tried.after["items"]] == ["metal_lid"]
    assert tried.before_text != tried.after_text
    assert judge.of(both) is found, "nothing is judged twice"
    book, examples = proving.split(changes.texts(both))
    key = playing.key_of(changes.data, book, examples)
    assert playing.known(changes.data, key) == found.played, "nor played again by the server"
    changes.apply(both.id, both.digest, "ann", judge.faults)
    broken = changes.propose(
        "x", {f"book/{n}": t for n, t in TEXTS.items() if t != WITH_NAME[n]}, by="b"
    )
    assert judge.of(broken).errors
    without_model = Judge(changes, None)
    without_model.prove = light
    told = without_model.of(broken)
    assert (told.played, told.conversations, told.errors) == (None, 1, ())


# The process that watches the files, and the server that plays


def test_nothing_is_played_twice_and_the_key_follows_what_counts(tmp_path: Path) -> None:
    one = playing.key_of(tmp_path, {"a": "1"}, {NAME: "x"})
    assert one == playing.key_of(tmp_path, {"a": "1"}, {NAME: "x", "examples/film.yml": "y"})
    assert one != playing.key_of(tmp_path, {"a": "2"}, {NAME: "x"})
    assert one != playing.key_of(tmp_path, {"a": "1"}, {NAME: "y"})
    (tmp_path / "models").mkdir()
    (tmp_path / "models" / "trained-from").write_text("another model")
    assert one != playing.key_of(tmp_path, {"a": "1"}, {NAME: "x"})
    found = Played(1, 2, (Finding(Place(NAME, 7), "what", "cure"),))
    for n in range(playing.KEPT + 5):
        playing.keep(tmp_path, f"key-{n}", found)
    assert playing.known(tmp_path, "key-3") is None
    assert playing.known(tmp_path, f"key-{playing.KEPT + 4}") == found
    (tmp_path / playing.PLAYED).write_text("broken")
    assert playing.known(tmp_path, "key-20") is None


def test_server_plays_what_the_watcher_wants(tmp_path: Path, assistant: Any) -> None:
    stop = threading.Event()

    def serve() -> None:
        while not stop.is_set():
            playing.play_wanted(assistant.agent, tmp_path)
            time.sleep(0.05)

    server = threading.Thread(target=serve)
    server.start()
    try:
        assert playing.ask(tmp_path, WITH_NAME, {NAME: EXAMPLE}) == Played(1, 1, ())
        failing = playing.ask(tmp_path, TEXTS, {NAME: EXAMPLE})
    finally:
        stop.set()
        server.join()
    assert [m.place for m in failing.mistakes][:1] == [Place(NAME, 7)]
    assert not (tmp_path / playing.WANTED).exists()
    assert playing.ask(tmp_path, TEXTS, {NAME: EXAMPLE}) == failing, "known, without a server"
    assert playing.ask(tmp_path, TEXTS, {"examples/film.yml": "cases: []"}) == Played(0, 0, ())


def test_server_that_does_not_play_keeps_the_book_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(playing, "PATIENCE", 0.3)
    (mistake,) = playing.ask(tmp_path, TEXTS, {NAME: EXAMPLE}).mistakes
    assert mistake.what == "the conversations could not be played"


def test_keeper_keeps_a_book_out_whose_examples_fail(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Old rules stay in force, and the state tells file and line; right again, it comes in."""
    (tmp_path / "data").mkdir()
    said: list[str] = []
    keeper = Keeper(BOOK, tmp_path / "data" / "book.json", said.append)
    texts = [TEXTS, WITH_NAME, WITH_NAME]

    def judged(*_: Any) -> Verdict:
        found = texts.pop(0)
        return Verdict(found, load_texts(found), None, ())

    monkeypatch.setattr("bot.watch.judge", judged)
    monkeypatch.setattr(keeper, "settled", lambda: None)
    keeper.look()
    stored = (tmp_path / "data" / "book.json").read_bytes()
    fails = Played(1, 1, (Finding(Place(NAME, 7), "what", "cure"),))
    keeper.played = lambda _: fails
    assert not keeper.look().passed
    assert (tmp_path / "data" / "book.json").read_bytes() == stored
    told = json.loads((tmp_path / "data" / "book-status.json").read_text())
    assert told["state"] == "old book in force"
    assert [(m["file"], m["line"]) for m in told["mistakes"]] == [(NAME, 7)]
    assert any(f"{NAME}, line 7: what" in line for line in said)
    keeper.played = lambda _: replace(fails, mistakes=())
    assert keeper.look().passed
    assert (tmp_path / "data" / "book.json").read_bytes() != stored


# Making one from the record


def entry(question: str | None, kind: str, items: list[dict[str, Any]], **more: Any) -> Entry:
    told = {
        "id": 1, "at": "2026-12-01T10:00:00+00:00", "conversation": "c", "turn": None,
        "channel": "rest", "demo": False, "district": "oxmere", "on": "2026-12-02",
        "intent": "", "confidence": 1.0, "book": None,
    }  # fmt: skip
    return Entry(**{**told, "question": question, "kind": kind, "items": items, **more})


def test_conversation_of_the_record_becomes_an_example_that_plays(
    trials: dict[str, Trial],
) -> None:
    """What the assistant says now, written down, plays without a mistake; also odd words."""
    trial, on = trials["without"], date(2026, 12, 2)
    entries, state = [], None
    for text in ("pizza box", 'it: "was" a takeaway, [yes] # really', "thanks", "12"):
        said = trial.say(text, state, district="oxmere", on=on)
        state = said.state
        answer = said.answer
        entries.append(entry(text, answer["kind"], answer["items"], asks=answer["asks"]))
    transcript = making.from_record(entries)
    text = making.text_of(transcript)
    document, mistakes = checked(NAME, text)
    assert mistakes == [] and document.data["turns"] == transcript["turns"]
    assert (document.data["channel"], document.data["on"]) == ("webchat", "2026-12-02")
    assert run(trial, {NAME: text}).mistakes == ()
    assert run(trial, {NAME: text.replace("destination: residual", "destination: reuse")}).mistakes


def test_forgotten_conversation_cannot_be_saved() -> None:
    from bot.processes import Failed

    for entries in ([], [entry(None, "answer", [])]):
        with pytest.raises(Failed, match="was forgotten"):
            making.from_record(entries)


def test_server_does_not_start_with_a_book_whose_examples_fail(
    tmp_path: Path, assistant: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It ends before it listens, and what started it tells file, line and what came."""
    from bot.processes import Failed
    from bot.server import examples_hold
    from bot.supervisor import told_of_examples

    (tmp_path / "book").mkdir()
    example = tmp_path / NAME
    example.parent.mkdir(parents=True)
    stored = tmp_path / "data" / "book.json"
    store(dict(TEXTS), stored)
    monkeypatch.setenv("LIDWISE_BOOK", str(stored))
    keeper = Keeper(tmp_path / "book", stored, print)
    said: list[str] = []
    examples_hold(assistant.agent, stored.parent, tmp_path / "book")
    told_of_examples(stored.parent, keeper, said.append)
    assert said == []
    example.write_text(EXAMPLE, encoding="utf-8")
    with pytest.raises(SystemExit, match="line 7"):
        examples_hold(assistant.agent, stored.parent, tmp_path / "book")
    with pytest.raises(Failed, match="nothing to run with"):
        told_of_examples(stored.parent, keeper, said.append)
    assert f"{NAME}, line 7" in said[0] and "metal_lid: mixed_recycling" in " ".join(said)


@pytest.mark.parametrize("day", ["2026-02-31", "2026-13-01"])
def test_example_for_a_day_there_is_not_says_so(day: str) -> None:
    text = re.sub(r"(?m)^on: .*$", f"on: {day}", EXAMPLE)
    _, mistakes = checked(NAME, text)
    assert [m.line for m in mistakes] == [text[: text.index("on: ")].count("\n") + 1]
    assert run_of(text) != []


def run_of(text: str) -> list[Any]:
    """What a check finds wrong with the form of an example."""
    return form({NAME: text})[1]
