"""The simulated residents, with the trained assistant and a data folder of their own."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import jsonschema
import pytest
from rasa.core.tracker_store import InMemoryTrackerStore

from actions.current import SHELF
from bot.conversations import Conversations
from bot.processes import Failed
from bot.record.store import Record
from bot.remarks import Remarks
from bot.traffic import oracle
from bot.traffic.plan import Plan
from bot.traffic.removal import remove
from bot.traffic.simulator import Done, Simulator
from bot.webchat import intake

PLAN = Plan(seed=7, people=24, start=date(2027, 1, 20), end=date(2027, 2, 12))
"""Both sides of Tarnside's change of containers."""


@pytest.fixture(scope="module")
def simulate(assistant: Any) -> Iterator[Callable[..., Done]]:
    """Simulates into a folder; afterwards the assistant keeps conversations in memory again."""

    def run(data: Path, plan: Plan = PLAN) -> Done:
        return Simulator(assistant, data, SHELF.current(), plan).run()

    yield run
    assistant.keep_in(InMemoryTrackerStore(domain=assistant.agent.domain))


@pytest.fixture(scope="module")
def made(simulate: Any, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Done]:
    """A folder with traffic in it, only read by the tests."""
    data = tmp_path_factory.mktemp("traffic")
    return data, simulate(data)


def kept(data: Path) -> list[tuple[Any, ...]]:
    """All rows of the record and of the remarks."""
    rows: list[tuple[Any, ...]] = []
    for file, table in (("conversations.db", "answers"), ("remarks.db", "remarks")):
        with sqlite3.connect(data / file) as db:
            rows += db.execute(f"SELECT * FROM {table} ORDER BY id").fetchall()
    return rows


def replies(data: Path) -> list[dict[str, Any]]:
    """The contract of every reply among the framework's own events."""
    with sqlite3.connect(data / "conversations.db") as db:
        rows = db.execute("SELECT data FROM events WHERE type_name = 'bot' ORDER BY id")
        events = [json.loads(text) for (text,) in rows]
    return [e["data"]["custom"] for e in events if e["data"].get("custom")]


def test_the_same_seed_makes_the_same_messages_and_answers(
    made: tuple[Path, Done], simulate: Any, tmp_path: Path
) -> None:
    simulate(tmp_path)
    assert kept(tmp_path) == kept(made[0])


def test_another_seed_makes_others(made: tuple[Path, Done], simulate: Any, tmp_path: Path) -> None:
    simulate(tmp_path, Plan(8, 5, PLAN.start, PLAN.end))
    said = {e.question for e in Record(made[0]).latest(10_000)}
    assert {e.question for e in Record(tmp_path).latest(10_000)} - said


def test_every_message_is_answered_by_the_contract(
    made: tuple[Path, Done], contract: jsonschema.Draft7Validator
) -> None:
    data, done = made
    found = replies(data)
    sent = sum(done.messages.values())
    assert done.unanswered == 0
    assert len(found) == sent == len(Record(data).latest(10_000)) == sum(done.kinds.values())
    assert sent > PLAN.people
    for answer in found:
        contract.validate(answer)
        assert (answer["kind"] == "question") == (answer["asks"] is not None)


def test_all_of_it_is_marked(made: tuple[Path, Done]) -> None:
    data, done = made
    entries = Record(data).latest(10_000)
    assert all(e.demo for e in entries)
    assert {e.channel for e in entries} == set(done.messages) <= {"webchat", "sms", "panel"}
    assert len({e.conversation for e in entries}) == PLAN.people
    remarks = Remarks(data / "remarks.db").all()
    assert remarks and all(r.demo for r in remarks)
    assert sum(done.remarks.values()) == len(remarks)


def test_it_happens_on_the_simulated_days(made: tuple[Path, Done]) -> None:
    """An answer is for the day it was on the wall clock in England when it was asked."""
    times = []
    for entry in Record(made[0]).entries(sorted_by_id()):
        at = datetime.fromisoformat(entry.at)
        times.append(at)
        local = at.astimezone(ZoneInfo("Europe/London")).date()
        assert entry.on == local.isoformat()
        assert PLAN.start <= local <= PLAN.end or (local - PLAN.end).days == 1
    assert times == sorted(times)
    for remark in Remarks(made[0] / "remarks.db").all():
        assert min(times) <= datetime.fromisoformat(remark.at)
        assert remark.at[:4] == "2027"


def sorted_by_id() -> Any:
    """All rows of the record in the order they were made."""
    import sqlalchemy as sa

    from bot.record.entry import TABLE

    return sa.select(TABLE).order_by(TABLE.c.id)


def test_remarks_belong_to_an_answer(made: tuple[Path, Done]) -> None:
    record = Record(made[0])
    for remark in Remarks(made[0] / "remarks.db").all():
        turns = record.of(remark.conversation)
        assert remark.question in {t.question for t in turns}
        assert remark.reply is not None and remark.reply["on"] == remark.on
        if remark.channel == "webchat":
            assert remark.turn in {t.turn for t in turns}


def test_it_is_not_made_twice(made: tuple[Path, Done], simulate: Any) -> None:
    before = kept(made[0])
    with pytest.raises(Failed, match="there already"):
        simulate(made[0])
    assert kept(made[0]) == before


def test_removal_leaves_all_else(assistant: Any, simulate: Any, tmp_path: Path) -> None:
    store = Conversations(assistant.agent.domain, db=str(tmp_path / "conversations.db"))
    remarks = Remarks(tmp_path / "remarks.db")

    def live(sender: str) -> None:
        assistant.keep_in(store)
        assistant.say("pizza box", sender, district="oxmere", on="2027-01-25", channel="webchat")
        with sqlite3.connect(tmp_path / "conversations.db") as db:
            (told,) = db.execute(
                "SELECT turn FROM answers WHERE conversation = ?", (sender,)
            ).fetchone()
        wrong = {"sender": sender, "message_id": told, "kind": "wrong", "note": "no"}
        assert intake.keep(remarks, store, wrong) is not None

    live("before")
    alone = kept(tmp_path)
    done = simulate(tmp_path, Plan(7, 12, PLAN.start, PLAN.end))
    live("after")
    gone = remove(tmp_path)
    assert (gone.conversations, gone.answers) == (12, sum(done.messages.values()))
    assert gone.remarks == sum(done.remarks.values())
    left = kept(tmp_path)
    assert [r for r in left if "before" in r] == alone
    assert {e.conversation for e in Record(tmp_path).latest()} == {"before", "after"}
    assert {r.conversation for r in remarks.all()} == {"before", "after"}
    with sqlite3.connect(tmp_path / "conversations.db") as db:
        assert db.execute("SELECT DISTINCT sender_id FROM events ORDER BY 1").fetchall() == [
            ("after",),
            ("before",),
        ]
    assert remove(tmp_path) == type(gone)(0, 0, 0)


def test_what_they_meant_is_judged_by_the_rules(made: tuple[Path, Done]) -> None:
    """Not how good the assistant is, only that verdicts are given, and not all by one rule."""
    meant = made[1].meant
    things = [m for m in meant if m.want]
    assert len(things) > PLAN.people / 2
    assert {m.verdict for m in meant} <= {"right", "wrong", "open"}
    found = oracle.tally(meant)
    assert sum(sum(c.values()) for c in found.values()) == len(meant)
    assert found["known"]["right"] > found["known"]["wrong"]
