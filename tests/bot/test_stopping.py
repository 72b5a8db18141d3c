"""However it ends, nothing is left; and what is left of it while it runs answers politely."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import time
from contextlib import suppress

import jsonschema
import psutil
import pytest

from actions.current import store
from bot import paths, training
from bot.processes import Server, listen, stop_all
from rules.loader import read_files
from tests.bot.conftest import BOOK, Running, Site

SCHEMA = json.loads((paths.PROJECT / "actions" / "answer.schema.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_stopped_while_it_starts_it_leaves_nothing(fresh, number):
    run = Running(fresh, BOOK)
    run.until("3/4")
    time.sleep(1)
    assert len(run.servers()) == 2
    run.process.send_signal(number)
    assert run.ended() == 0
    assert run.left() == []
    assert "Stopping…" in run.printed


def test_killed_it_leaves_nothing(fresh):
    run = Running(fresh, BOOK)
    run.until("3/4")
    time.sleep(1)
    assert len(run.servers()) == 2
    run.process.kill()
    run.ended()
    assert run.left(30) == []


def test_ctrl_c_leaves_nothing_and_a_dead_server_is_told(fresh):
    run = Running(fresh, BOOK)
    address = run.until("Ready: ").split()[1]
    assert sum("http" in line for line in run.printed) == 1
    assert Site(address).answer("pizza box")["kind"] == "question"
    run.servers()
    run.process.send_signal(signal.SIGINT)
    assert run.ended() == 0
    assert run.left() == []
    with pytest.raises(OSError):
        Site(address).request("/")

    again = Running(fresh, BOOK)
    again.until("Ready: ")
    again.one("bot.action_server").kill()
    assert again.ended() == 1
    assert again.left() == []
    assert any("The action server ended by itself" in line for line in again.printed)


def test_without_the_action_server_the_reply_is_polite(fresh):
    """The language server alone: a message is answered with sorry and kept."""
    store(read_files(BOOK), fresh / "book.json")
    os.environ["LIDWISE_BOOK"] = str(fresh / "book.json")
    free = listen("127.0.0.1", 0)
    nowhere = f"http://127.0.0.1:{free.getsockname()[1]}/webhook"
    server = Server(
        "language server",
        "bot.server",
        listen("127.0.0.1", 0),
        [str(training.model_file(fresh)), str(fresh), nowhere],
        fresh / "logs" / "server.log",
    )
    free.close()
    del os.environ["LIDWISE_BOOK"]
    try:
        site = Site(server.address)
        end = time.monotonic() + 120
        while time.monotonic() < end and server.alive():
            with suppress(OSError):
                if site.request("/health")[0]:
                    break
            time.sleep(0.3)
        status, _, body = site.request("/health")
        assert (status, json.loads(body)["actions"]["state"]) == (503, "no answer")
        messages = site.say("pizza box", "alone-1", district="oxmere", on="2027-02-10")
        assert len([m for m in messages if "text" in m]) == 1
        (custom,) = [m["custom"] for m in messages if "custom" in m]
        jsonschema.validate(custom, SCHEMA)
        assert (custom["kind"], custom["district"], custom["on"]) == (
            "unclear",
            "oxmere",
            "2027-02-10",
        )
        assert "Sorry" in messages[0]["text"] and "01632 960118" in messages[0]["text"]
        assert "Couldn't connect" in (fresh / "logs" / "server.log").read_text(encoding="utf-8")
        rows = sqlite3.connect(fresh / "conversations.db").execute(
            "SELECT data FROM events WHERE sender_id = 'alone-1' AND type_name = 'user'"
        )
        assert [json.loads(data)["text"] for (data,) in rows] == ["pizza box"]
    finally:
        stop_all([server])
    assert not psutil.pid_exists(server.process.pid)


def test_run_does_not_touch_the_project(running):
    assert str(running.data).startswith("/tmp") or paths.PROJECT not in running.data.parents
    assert {p.name for p in running.data.iterdir()} >= {"book.json", "conversations.db", "logs"}
