"""Each turn leaves a row that says who answered what, by which book."""

from __future__ import annotations

import asyncio
import json
from datetime import date, datetime, timezone

import pytest
from rasa.shared.core.domain import Domain
from rasa.shared.core.events import BotUttered, UserUttered
from rasa.shared.core.trackers import DialogueStateTracker

from bot.conversations import Conversations
from bot.processes import Failed
from bot.record import books
from bot.record.store import Record
from bot.record.turns import fault
from rules.loader import read_files
from tests.bot.conftest import BOOK


def thing(**more):
    blank = {"item": "mug", "asked_as": "mug", "destination": "reuse", "container": None}
    return {**blank, "alternatives": [], "rule": "r", "source": "s", "facts": {}, **more}


def turn(kind="answer", items=(), trail=None, **user):
    custom = {"kind": kind, "district": "oxmere", "on": "2026-12-01", "items": list(items)}
    return [
        UserUttered("a mug", {"name": "ask_destination", "confidence": 0.9}, **user),
        BotUttered("to a shop", data={"custom": custom}, metadata={"trail": trail or {}}),
    ]


def saved(store, sender, *events):
    tracker = DialogueStateTracker(sender, [])
    tracker.stored = 0
    for event in events:
        tracker.update(event)
    asyncio.run(store.save(tracker))
    return tracker


@pytest.fixture
def store(tmp_path):
    return Conversations(Domain.empty(), db=str(tmp_path / "conversations.db"))


def test_turn_and_its_row_are_saved_together(store, tmp_path):
    trail = {
        "book": "abc",
        "meant": ["food"],
        "items": [{"asked": "mug", "facts": {"c": "v"}, "assumed": ["c"], "unsettled": []}],
    }
    saved(store, "s", *turn(items=[thing()], trail=trail, metadata={"channel": "sms"}))
    (row,) = Record(tmp_path).of("s")
    assert (row.kind, row.channel, row.district, row.on) == (
        "answer",
        "sms",
        "oxmere",
        "2026-12-01",
    )
    assert (row.book, row.meant, row.fault, row.question) == ("abc", ["food"], None, "a mug")
    assert row.items[0]["facts"] == {"c": "v"} and row.items[0]["assumed"] == ["c"]
    since = datetime.now(timezone.utc) - datetime.fromisoformat(row.at)
    assert 0 <= since.total_seconds() < 60


def test_nothing_is_kept_if_the_row_cannot_be(store, tmp_path, monkeypatch):
    monkeypatch.setattr("bot.conversations.record.add", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        saved(store, "s", *turn())
    monkeypatch.undo()
    assert Record(tmp_path).of("s") == []
    assert asyncio.run(store.retrieve("s")) is None


def test_later_turns_add_only_their_own_row(store, tmp_path):
    tracker = saved(store, "s", *turn())
    for event in turn("unclear"):
        tracker.update(event)
    asyncio.run(store.save(tracker))
    asyncio.run(store.save(tracker))
    assert [e.kind for e in Record(tmp_path).of("s")] == ["answer", "unclear"]


def test_message_without_a_reply_is_kept_as_failed(store, tmp_path):
    saved(store, "s", UserUttered("a mug"))
    (row,) = Record(tmp_path).faulty()
    assert (row.fault, row.question, row.book) == ("failed", "a mug", None)


def test_clock_and_demo_are_told(store, tmp_path):
    store.clock = lambda: datetime(2026, 5, 2, 23, 30, tzinfo=timezone.utc).timestamp()
    store.demo = True
    saved(store, "s", *turn())
    read = Record(tmp_path)
    day = date(2026, 5, 2)
    assert [e.at for e in read.between(day, day)] == ["2026-05-02T23:30:00+00:00"]
    assert len(read.between(day, day, demo=True)) == 1 and read.between(day, day, demo=False) == []
    assert read.between(date(2026, 5, 3), date(2026, 5, 9)) == []


@pytest.mark.parametrize(
    ("kind", "items", "found"),
    [
        ("answer", [thing(unsettled=[])], None),
        ("cautious", [thing(item=None, unsettled=[])], "unknown"),
        ("cautious", [thing(unsettled=["material"])], "unsettled"),
        ("question", [thing(item=None, unsettled=[]), thing(destination=None)], "unknown"),
        ("question", [thing(item=None, destination=None, unsettled=[])], None),
        ("emergency", [thing(item=None, destination="emergency", unsettled=[])], None),
        ("unclear", [], "unclear"),
        ("referral", [], None),
    ],
)
def test_fault_says_what_is_worth_a_look(kind, items, found):
    assert fault(kind, items) == found


def test_running_assistant_keeps_rows_and_its_book(site, running):
    site.say("does a pizza box go in the orange bin", "rec-1", district="oxmere", channel="webchat")
    site.say("where does a theremin go", "rec-1", district="oxmere", message_id="m2")
    first, second = Record(running.data).of("rec-1")
    assert first.kind == "question" and first.asks == {
        "item": "pizza_box",
        "condition": "food_origin",
    }
    assert first.meant == ["mixed_recycling"] and first.channel == "webchat"
    assert second.fault == "unknown" and second.turn == "m2"
    assert second.items[0]["item"] is None and second.items[0]["destination"] == "residual"
    version = site.json("/health")["book"]["version"]
    assert first.book == second.book == version
    assert books.texts_of(running.data, version) == read_files(running.data.parent / "rules")


def test_kept_books_are_read_back_newest_first(tmp_path):
    texts = read_files(BOOK)
    books.keep(tmp_path, texts, "aaaaaaaa")
    books.keep(tmp_path, {"x": "changed"}, "aaaaaaaa")
    assert books.texts_of(tmp_path, "aaaaaaaa") == texts
    assert [k.version for k in books.versions(tmp_path)] == ["aaaaaaaa"]
    assert len(books.book_of(tmp_path, "aaaaaaaa").items) > 600


@pytest.mark.parametrize("version", ["bbbbbbbb", "../../x", ""])
def test_book_that_is_not_kept_is_said_plainly(tmp_path, version):
    with pytest.raises(Failed, match="rule book"):
        books.texts_of(tmp_path, version)
    (tmp_path / "books").mkdir()
    (tmp_path / "books" / "cccccccc.json.gz").write_bytes(b"no")
    with pytest.raises(Failed, match="cannot be read"):
        books.texts_of(tmp_path, "cccccccc")
    assert json.dumps([k.version for k in books.versions(tmp_path)]) == "[]"
