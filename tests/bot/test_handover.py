"""A resident's chat in the hands of a person: the desk by itself, then over HTTP."""

from __future__ import annotations

import json
import threading
import time
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from bot.access.settings import Settings
from bot.handover import desk as desks
from bot.handover.desk import Desk
from bot.handover.store import Chats
from tests.bot.staff import Staff, with_account
from tests.bot.waiting import until

CLOCK = 1_800_000_000.0


class Clock:
    def __init__(self) -> None:
        self.at = CLOCK

    def __call__(self) -> float:
        return self.at


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def desk(tmp_path: Path, clock: Clock) -> Desk:
    return Desk(tmp_path / "h.db", Settings(), clock)


def last(desk: Desk, chat: int) -> str:
    return desk.chats.lines(chat)[-1].text


# ---- the desk


def test_only_one_of_many_agents_gets_a_chat(tmp_path):
    chats = Chats(tmp_path / "h.db")
    _, chat = chats.ask("web-1", "oxmere")
    # A connection of its own for each, as for servers that share the file.
    mine = [Chats(tmp_path / "h.db") for _ in range(8)]
    got: list[bool] = []
    start = threading.Barrier(8)

    def take(number: int) -> None:
        start.wait()
        got.append(mine[number].take(chat.id, f"agent-{number}"))

    threads = [threading.Thread(target=take, args=(n,)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(got) == [False] * 7 + [True]


def test_secret_is_kept_only_as_a_hash(desk, tmp_path):
    secret, chat = desk.chats.ask("web-1", None)
    assert len(secret) >= 43 and desk.chats.of(secret).id == chat.id
    assert desk.chats.of("x") is None and desk.chats.of("") is None
    assert all(secret.encode() not in p.read_bytes() for p in tmp_path.iterdir())
    assert (tmp_path / "h.db").stat().st_mode & 0o777 == 0o600


def test_nobody_there_means_hours_and_number(desk, clock):
    assert not desk.staffed()
    assert "01632 960118" in desk.instead() and "8.30am" in desk.instead()
    desk.seen("ann")
    assert desk.staffed()
    clock.at += desks.HERE + 1
    assert not desk.staffed()
    desk.seen("ann", ready=False)
    assert not desk.staffed()


def test_outside_hours_an_agent_is_not_enough(tmp_path, clock):
    days = frozenset({datetime.fromtimestamp(CLOCK).weekday()})
    now = datetime.fromtimestamp(CLOCK).strftime("%H:%M")
    desk = Desk(tmp_path / "h.db", Settings(chat_hours=(days, now, "23:59")), clock)
    desk.seen("ann")
    assert desk.staffed()
    clock.at -= 60
    assert not desk.staffed()
    other = Desk(tmp_path / "h.db", Settings(chat_hours=(frozenset(), "00:00", "23:59")), clock)
    other.seen("ann")
    assert not other.staffed()


def test_taken_given_back_and_ended(desk):
    desk.seen("ann")
    desk.seen("bob")
    _, chat = desk.chats.ask("web-1", None)
    assert desk.take(chat, "ann") and not desk.take(chat, "bob")
    assert last(desk, chat.id) == desks.TAKEN
    assert not desk.end(chat, "bob") and not desk.give_back(chat, "bob")
    assert desk.give_back(chat, "ann") and desk.chats.get(chat.id).state == "waiting"
    assert last(desk, chat.id) == desks.BACK
    assert desk.take(chat, "bob") and desk.end(chat, "bob")
    assert desk.chats.get(chat.id).state == "ended" and last(desk, chat.id) == desks.ENDED
    assert not desk.leave(chat)


def test_given_back_with_nobody_else_there_ends(desk):
    desk.seen("ann")
    _, chat = desk.chats.ask("web-1", None)
    assert desk.take(chat, "ann") and desk.give_back(chat, "ann")
    assert desk.chats.get(chat.id).state == "ended"


def test_agent_who_vanishes_or_signs_out_leaves_it_to_the_assistant(desk, clock):
    desk.seen("ann")
    _, one = desk.chats.ask("web-1", None)
    desk.take(one, "ann")
    clock.at += desks.AGENT_GONE - 1
    desk.chats.see_resident(one.id)
    desk.sweep()
    assert desk.chats.get(one.id).state == "taken"
    clock.at += 2
    desk.sweep()
    assert desk.chats.get(one.id).state == "ended" and last(desk, one.id) == desks.ENDED
    desk.seen("ann")
    _, other = desk.chats.ask("web-2", None)
    desk.take(other, "ann")
    desk.gone("ann")
    assert desk.chats.get(other.id).state == "ended" and not desk.staffed()


def test_waiting_ends_when_nobody_is_left_or_it_takes_too_long(desk, clock):
    desk.seen("ann")
    _, one = desk.chats.ask("web-1", None)
    desk.sweep()
    assert desk.chats.get(one.id).state == "waiting"
    desk.gone("ann")
    desk.sweep()
    assert desk.chats.get(one.id).state == "ended" and "01632 960118" in last(desk, one.id)
    desk.seen("ann")
    _, other = desk.chats.ask("web-2", None)
    for _ in range(70):
        clock.at += 10
        desk.seen("ann")
        desk.chats.see_resident(other.id)
        desk.sweep()
    assert desk.chats.get(other.id).state == "ended" and "01632 960118" in last(desk, other.id)


def test_resident_who_vanishes_has_left(desk, clock):
    desk.seen("ann")
    _, chat = desk.chats.ask("web-1", None)
    clock.at += desks.RESIDENT_GONE + 1
    desk.seen("ann")
    desk.sweep()
    assert desk.chats.get(chat.id).state == "left"


def test_chats_that_are_over_are_deleted_in_time(desk, clock):
    desk.seen("ann")
    _, old = desk.chats.ask("web-1", None)
    desk.leave(old)
    clock.at += 1000
    _, open_ = desk.chats.ask("web-2", None)
    assert desk.chats.forget(clock.at - 500) == 1
    assert desk.chats.get(old.id) is None and desk.chats.lines(old.id) == []
    assert desk.chats.get(open_.id) is not None


# ---- over HTTP


class Resident:
    """A resident's page."""

    def __init__(self, site: Any, sender: str) -> None:
        self.site, self.sender, self.token = site, sender, ""

    def call(self, method: str, path: str = "", body: Any = None) -> tuple[int, Any]:
        data = None if body is None else json.dumps(body).encode()
        status, _, told = self.site.request("/api/person" + (path and "/" + path), data, method)
        return status, json.loads(told)

    def ask(self) -> Any:
        status, told = self.call("POST", "", {"sender": self.sender, "district": "oxmere"})
        assert status in (200, 201), told
        self.token = told.get("token", "")
        return told

    def news(self, after: int = 0, state: str = "") -> Any:
        status, told = self.call("GET", f"{self.token}?after={after}&state={state}")
        assert status == 200, told
        return told

    def say(self, text: str) -> tuple[int, Any]:
        return self.call("POST", self.token, {"message": text})


@pytest.fixture
def agent(running, site):
    browser = Staff(site.address).sign_in(with_account(running.data, "chat-agent"))
    yield browser
    browser.post("/panel/sign-out")


def waiting(agent, resident) -> Any:
    agent.get("/panel/api/chats")
    assert resident.ask()["state"] == "waiting"
    return agent.get("/panel/api/chats")["chats"][-1]


def test_without_an_agent_the_resident_is_told_at_once(site):
    gone = "nobody is there any more of those who signed in for other tests"
    until(lambda: not site.json("/api/person")["staffed"], gone, 90)
    told = Resident(site, "web-alone").ask()
    assert told["state"] == "closed" and "01632 960118" in told["told"]
    assert site.json("/api/person") == {"staffed": False}


def test_chat_goes_over_with_what_was_said_and_comes_back(agent, site, running):
    resident = Resident(site, "web-handed-over")
    site.say("does a pizza box go in with the cardboard", resident.sender, district="oxmere")
    chat = waiting(agent, resident)
    assert chat["first"] == "does a pizza box go in with the cardboard" and not chat["mine"]
    assert chat["district"] == "oxmere"

    # Reading does not take it, and the assistant still answers.
    read = agent.get(f"/panel/api/chats/{chat['id']}")
    assert [x["who"] for x in read["lines"][:2]] == ["resident", "assistant"]
    assert "takeaway" in read["lines"][1]["text"]
    assert resident.say("hello?")[0] == 409
    assert agent.try_post(f"/panel/api/chats/{chat['id']}/say", {"text": "x"})[0] == 409

    assert agent.post(f"/panel/api/chats/{chat['id']}/take")["state"] == "taken"
    told = resident.news()
    assert told["state"] == "taken" and told["lines"][-1]["text"] == desks.TAKEN

    status, sent = resident.say("It was a birthday treat.")
    assert status == 200 and "urgent" not in sent
    agent.post(f"/panel/api/chats/{chat['id']}/say", {"text": "General waste then, please."})
    told = resident.news(sent["id"])
    assert [(x["who"], x["text"]) for x in told["lines"]] == [
        ("agent", "General waste then, please.")
    ]
    read = agent.get(f"/panel/api/chats/{chat['id']}")
    assert [x["who"] for x in read["lines"]][-3:] == ["note", "resident", "agent"]

    other = Staff(site.address).sign_in(with_account(running.data, "chat-other"))
    assert other.request(f"/panel/api/chats/{chat['id']}", accept="application/json")[0] == 404
    assert other.try_post(f"/panel/api/chats/{chat['id']}/take")[0] == 409

    assert agent.post(f"/panel/api/chats/{chat['id']}/end")["state"] == "ended"
    told = resident.news()
    assert told["state"] == "ended" and told["lines"][-1]["text"] == desks.ENDED
    assert resident.say("still there?")[0] == 409


def test_live_danger_is_told_at_once_even_in_a_taken_chat(agent, site):
    resident = Resident(site, "web-danger")
    site.say("where does a scooter battery go", resident.sender, district="oxmere")
    chat = waiting(agent, resident)
    agent.post(f"/panel/api/chats/{chat['id']}/take")
    status, told = resident.say("it has started smoking in the hall!!")
    assert status == 200
    (urgent,) = told["urgent"]
    assert urgent["text"].startswith("Call 999 now.") and urgent["custom"]["kind"] == "emergency"
    lines = agent.get(f"/panel/api/chats/{chat['id']}")["lines"]
    assert lines[-1]["who"] == "assistant" and lines[-1]["text"] == urgent["text"]
    resident.call("DELETE", resident.token)


def test_news_come_as_soon_as_there_are_any(agent, site):
    resident = Resident(site, "web-news")
    chat = waiting(agent, resident)
    timer = threading.Timer(1.0, agent.post, [f"/panel/api/chats/{chat['id']}/take"])
    start = time.monotonic()
    timer.start()
    told = resident.news(state="waiting")
    assert told["state"] == "taken" and 0.8 < time.monotonic() - start < 5
    timer.join()
    resident.call("DELETE", resident.token)
    assert agent.get("/panel/api/chats")["chats"] == []


def test_signing_out_gives_the_chat_to_the_assistant(agent, site, running):
    name = with_account(running.data, "chat-leaving")
    other, window = (Staff(site.address).sign_in(name) for _ in range(2))
    resident = Resident(site, "web-signed-out")
    chat = waiting(other, resident)
    other.post(f"/panel/api/chats/{chat['id']}/take")
    window.post("/panel/sign-out")
    assert resident.news()["state"] == "taken"
    other.post("/panel/sign-out")
    assert resident.news()["state"] == "ended"


@pytest.mark.parametrize(
    ("method", "path", "body", "status"),
    [
        ("POST", "", [1], 400),
        ("POST", "", {"sender": " "}, 400),
        ("GET", "nobodys-secret", None, 404),
        ("POST", "nobodys-secret", {"message": "x"}, 404),
        ("DELETE", "nobodys-secret", None, 404),
    ],
)
def test_wrong_requests_are_told_what_is_wrong(site, method, path, body, status):
    found, told = Resident(site, "x").call(method, path, body)
    assert found == status and told["error"].endswith(".")
