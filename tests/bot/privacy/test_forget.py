"""What is forgotten, and that its bytes are gone."""

from __future__ import annotations

import asyncio
import sqlite3
import time
from dataclasses import replace
from datetime import datetime, timezone

import pytest
from rasa.shared.core.domain import Domain
from rasa.shared.core.events import BotUttered, UserUttered
from rasa.shared.core.trackers import DialogueStateTracker
from typer.testing import CliRunner

from bot import cli, settings
from bot.changes.store import Changes
from bot.conversations import Conversations
from bot.handover.store import Chats
from bot.privacy import daily
from bot.privacy.forget import What, forget
from bot.privacy.period import moment
from bot.processes import Failed
from bot.record.store import Record
from bot.remarks import Remarks
from bot.review.form import Form
from bot.review.store import Store as Decisions
from bot.sms.numbers import Numbers
from bot.sms.store import Store, Texter

NOW = datetime(2026, 11, 29, 12, tzinfo=timezone.utc)
OLD, NEW = NOW.timestamp() - 100 * 86_400, NOW.timestamp() - 86_400
PHONE = "07700 900123"


class Folder:
    """A data folder with a conversation of each kind, old or new."""

    def __init__(self, path):
        self.path = path
        self.store = Conversations(Domain.empty(), db=str(path / "conversations.db"))
        self.remarks = Remarks(path / "remarks.db")
        self.at = NEW
        self.store.clock = lambda: self.at
        self.chats = Chats(path / "handover.db", lambda: self.at)
        self.sms = Store(path / "sms.db")
        self.numbers = Numbers(path)

    def say(self, sender, text, at, long=1):
        self.at = at
        thing = {"item": None, "asked_as": text, "destination": "residual", "facts": {}}
        custom = {"kind": "cautious", "district": "oxmere", "on": "2026-11-29", "items": [thing]}
        tracker = DialogueStateTracker(sender, [])
        tracker.stored = 0
        for _ in range(long):
            tracker.update(UserUttered(text, {"name": "ask", "confidence": 0.5}))
            tracker.update(BotUttered(f"{text}: bin", data={"custom": custom}))
        asyncio.run(self.store.save(tracker))

    def remark(self, conversation, note, at):
        more = {"channel": "webchat", "question": "q", "note": note}
        number = self.remarks.add("wrong", conversation=conversation, **more)
        when = datetime.fromtimestamp(at, timezone.utc).isoformat(timespec="seconds")
        with sqlite3.connect(self.path / "remarks.db") as db:
            db.execute("UPDATE remarks SET at = ? WHERE id = ?", (when, number))

    def chat(self, sender, text, at, end=True):
        self.at = at
        _, chat = self.chats.ask(sender, None)
        self.chats.say(chat.id, "resident", text)
        if end:
            self.chats.move(chat.id, ["waiting"], "ended")

    def text(self, phone, reply, at, **more):
        name = self.numbers.name(phone)
        self.sms.tidied = time.time() + 10**9
        self.sms.begin(f"key-{name}-{at}", name, at)
        self.sms.finish(f"key-{name}-{at}", reply, "ref", None)
        self.sms.remember(Texter(name, "oxmere", seen=at, **more))
        return f"sms-{name}"

    def holds(self, word):
        files = [p for p in self.path.rglob("*") if p.is_file()]
        return sorted(p.name for p in files if word.encode() in p.read_bytes())

    def forget(self, **what):
        return forget(self.path, What(**what))


@pytest.fixture
def folder(tmp_path):
    return Folder(tmp_path)


def test_what_is_old_is_gone_from_every_file_and_what_is_new_stays(folder):
    for word, at in (("zanzibarrow", OLD), ("quillhopper", NEW)):
        folder.say(word, f"a {word}", at)
        folder.remark(word, f"{word} is wrong", at)
        folder.chat(word, f"my {word}", at)
        folder.text(PHONE if at == OLD else "07700 900124", f"{word}: bin", at)
    names = {"conversations.db", "remarks.db", "handover.db", "sms.db"}
    assert names <= {n.removesuffix("-wal") for n in folder.holds("zanzibarrow")}
    done = folder.forget(before=NOW.timestamp() - 90 * 86_400)
    assert folder.holds("zanzibarrow") == []
    assert {n.removesuffix("-wal") for n in folder.holds("quillhopper")} == names
    assert done == {
        "events of conversations": 2,
        "answers that stay as counts": 1,
        "remarks": 1,
        "lines of chats with a person": 1,
        "chats with a person": 1,
        "text messages": 1,
        "texts not sent yet": 0,
        "texters": 1,
        "districts of texters who said STOP": 0,
        "questions beside changes": 0,
    }
    assert not any(folder.forget(before=NOW.timestamp() - 90 * 86_400).values())


def proposed(path, at, conversation, word):
    """A change that was proposed for a question, and the officer's decision."""
    changes = Changes(path, path / "rules" / "book")
    (path / "rules" / "book").mkdir(parents=True, exist_ok=True)
    asked = {"say": f"where does a {word} go", "district": None, "conversation": conversation}
    made = changes.propose("x", {f"book/{conversation}.yml": "items: {}\n"}, by="ann",
                           about={"review": "k", "questions": [asked]})  # fmt: skip
    when = datetime.fromtimestamp(at, timezone.utc).isoformat(timespec="seconds")
    changes.keep(replace(made, at=when))
    decisions = Decisions(path)
    decisions.decide("k", "accepted", by="ann", asked=1, forms=[Form((word,), word)])
    with sqlite3.connect(path / "review.db") as db:
        db.execute("UPDATE decisions SET at = ? WHERE forms LIKE ?", (when, f"%{word}%"))


def test_words_beside_changes_and_decisions_are_forgotten(folder):
    for word, at in (("zanzibarrow", OLD), ("quillhopper", NEW)):
        proposed(folder.path, at, word, word)
    assert len(folder.holds("where does a zanzibarrow go")) == 1
    done = folder.forget(before=NOW.timestamp() - 90 * 86_400)
    assert (done["questions beside changes"], done["decisions' words"]) == (1, 1)
    assert folder.holds("where does a zanzibarrow go") == []
    assert not any(n.startswith("review.db") for n in folder.holds("zanzibarrow"))
    assert any(n.startswith("review.db") for n in folder.holds("quillhopper"))
    done = folder.forget(conversation="quillhopper")
    assert done["questions beside changes"] == 1
    assert folder.holds("where does a quillhopper go") == []


def test_count_stays_and_tells_of_nobody(folder):
    folder.say("zanzi", "a zanzibarrow", OLD)
    folder.forget(conversation="zanzi")
    day = datetime.fromtimestamp(OLD, timezone.utc).date()
    (row,) = Record(folder.path).between(day, day)
    assert (row.conversation, row.turn, row.question) == (None, None, None)
    assert row.at == day.isoformat() and row.kind == "cautious" and row.district == "oxmere"
    assert [i["asked_as"] for i in row.items] == [""]
    assert folder.holds("zanzi") == []


def test_counts_go_too_if_asked(folder):
    folder.say("zanzi", "a zanzibarrow", OLD)
    folder.forget(before=NEW)
    assert folder.forget(before=NEW, counts=True)["answers"] == 1
    with sqlite3.connect(folder.path / "conversations.db") as db:
        assert db.execute("SELECT count(*) FROM answers").fetchone() == (0,)


def test_one_conversation_and_no_other(folder):
    for name in ("one", "one2", "on"):
        folder.say(name, f"a {name}thing", NEW)
        folder.remark(name, "wrong", NEW)
    folder.forget(conversation="one")
    assert Record(folder.path).of("one") == []
    assert len(Record(folder.path).of("one2")) == len(Record(folder.path).of("on")) == 1
    assert {r.conversation for r in folder.remarks.all()} == {"one2", "on"}


def test_chat_that_is_open_is_left_alone(folder):
    folder.chat("web", "wait for me", OLD, end=False)
    assert folder.forget(conversation="web")["chats with a person"] == 0
    assert folder.forget(before=NEW)["chats with a person"] == 0
    assert len(folder.chats.all("waiting")) == 1


def test_texter_is_found_by_number_in_any_spelling(folder):
    name = folder.text(PHONE, "zanzibarrow: bin", NEW)
    folder.say(name, "a zanzibarrow", NEW)
    told = run("forget", "--phone", "+44 (0)7700-900123", "--data-dir", folder.path)
    assert told.exit_code == 0 and "1  text messages" in told.output
    assert folder.holds("zanzibarrow") == [] and folder.holds(name.removeprefix("sms-")) == []


def test_stop_holds_after_forgetting(folder):
    """Who said STOP must not be texted again, so that alone is kept (as a keyed hash)."""
    name = folder.text(PHONE, "gone", OLD, stopped=True)
    folder.forget(before=NEW)
    folder.forget(conversation=name)
    left = folder.sms.texter(name.removeprefix("sms-"))
    assert left.stopped and left.district is None


def test_nothing_is_left_in_pages_that_were_free_before(folder):
    """Rows that something else deleted without care are overwritten as well."""
    folder.say("zanzi", "a zanzibarrow " * 40, OLD, long=60)
    db = sqlite3.connect(folder.path / "conversations.db")
    db.execute("PRAGMA secure_delete=OFF")
    db.execute("DELETE FROM events")
    db.commit()
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    assert folder.holds("zanzibarrow")
    folder.forget(before=NEW)
    assert folder.holds("zanzibarrow") == []


def test_it_waits_for_who_is_writing(folder):
    """Another connection has a change open; when that is done, so is this."""
    import threading

    folder.say("zanzi", "a zanzibarrow", OLD)
    other = sqlite3.connect(folder.path / "conversations.db", check_same_thread=False)
    other.execute("BEGIN IMMEDIATE")
    other.execute("DELETE FROM events WHERE 0")
    threading.Timer(0.5, other.commit).start()
    assert folder.forget(before=NEW)["events of conversations"] == 2
    assert folder.holds("zanzibarrow") == []


# The command


def run(*arguments):
    return CliRunner().invoke(cli.app, [str(a) for a in arguments])


def test_dry_run_changes_nothing(folder):
    folder.say("zanzi", "a zanzibarrow", time.time() - 100 * 86_400)
    told = run("forget", "--older-than", "90d", "--dry-run", "--data-dir", folder.path)
    assert told.exit_code == 0 and told.output.startswith("This would be forgotten:")
    assert "2  events of conversations" in told.output and folder.holds("zanzibarrow")
    told = run("forget", "--older-than", "90d", "--data-dir", folder.path)
    assert told.output.startswith("Forgotten:") and not folder.holds("zanzibarrow")
    told = run("forget", "--older-than", "90d", "--data-dir", folder.path)
    assert told.output == "There is nothing of that here.\n"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "Name one:"),
        (["c", "--older-than", "90d"], "Name one:"),
        (["--older-than", "soon"], "'soon' is no age."),
        (["--older-than", "2126-09-01"], "is still to come"),
        (["--phone", "07700 900123"], "No text message was ever taken here"),
    ],
)
def test_wrong_wish_is_told_in_one_line(tmp_path, arguments, says):
    told = run("forget", *arguments, "--data-dir", tmp_path)
    assert told.exit_code == 1 and says in told.output and told.output.count("\n") == 1


def test_file_that_is_no_database_is_told(tmp_path):
    (tmp_path / "remarks.db").write_bytes(b"not a database" * 100)
    told = run("forget", "c", "--data-dir", tmp_path)
    assert told.exit_code == 1 and "remarks.db cannot be read" in told.output


@pytest.mark.parametrize(
    ("told", "then"),
    [
        ("90d", datetime(2026, 8, 31, 12, tzinfo=timezone.utc)),
        ("12w", datetime(2026, 9, 6, 12, tzinfo=timezone.utc)),
        ("6m", datetime(2026, 5, 29, 12, tzinfo=timezone.utc)),
        ("1Y", datetime(2025, 11, 29, 12, tzinfo=timezone.utc)),
        ("2026-09-01", datetime(2026, 9, 1, tzinfo=timezone.utc)),
    ],
)
def test_ages(told, then):
    assert moment(told, NOW) == then


# The server


def test_server_forgets_by_itself(folder):
    folder.say("zanzi", "a zanzibarrow", time.time() - 100 * 86_400)
    folder.say("quill", "a quillhopper", time.time())

    async def once(days):
        task = asyncio.ensure_future(daily.keep(folder.path, days, first=0.0))
        await asyncio.sleep(0.6)
        task.cancel()

    asyncio.run(once(0))
    assert folder.holds("zanzibarrow")
    asyncio.run(once(90))
    assert not folder.holds("zanzibarrow") and folder.holds("quillhopper")


@pytest.mark.parametrize("wrong", ["{keep_days: -1}", "{keep_days: soon}", "{keep: 3}", "[1]"])
def test_wrong_setting_is_told_before_the_start(tmp_path, wrong):
    (tmp_path / "settings.yml").write_text(f"privacy: {wrong}\n", encoding="utf-8")
    with pytest.raises(Failed, match=r"settings.yml, privacy"):
        settings.check(tmp_path)
