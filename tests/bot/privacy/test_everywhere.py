"""What a resident tells of a person stands in no file, whichever way it came in."""

from __future__ import annotations

import json
import threading
import uuid

import pytest

from bot.privacy.forget import What, forget
from bot.remarks import Remarks
from tests.bot.staff import Staff, with_account

NAME, HOUSE = "Thaddeus Quibblethorpe", "4718k Snickerwell Avenue"
PHONE, MAIL, CODE = "07700 900847", "tq.snicker@example.com", "EC1A 9ZQ"
SAID = (
    f"my name is {NAME} of {HOUSE}, {CODE}, ring {PHONE} or mail {MAIL}: "
    "where does a pizza box go, and Thaddeus's old theremin?"
)
RAW = ("Quibblethorpe", "Thaddeus", "4718k", "Snickerwell", "7700 900847", "tq.snicker", CODE)


def raw_in(folder) -> list[tuple[str, str]]:
    """Files that hold any of it, in any spelling a store may give it."""
    found = []
    for path in folder.rglob("*"):
        if not path.is_file() or "models" in path.parts:
            continue
        held = path.read_bytes().lower()
        for word in RAW:
            spelt = (word, word.replace(" ", ""), json.dumps(word)[1:-1])
            if any(s.lower().encode() in held for s in spelt):
                found.append((str(path.relative_to(folder)), word))
    return found


@pytest.fixture(scope="module")
def agent(site, running):
    return Staff(site.address).sign_in(with_account(running.data, "privacy-agent"))


def test_nothing_of_a_person_is_in_any_file(site, running, agent):
    sender = f"private-{uuid.uuid4().hex}"
    # The web chat, its follow-up, a message that comes twice, and a remark.
    first = site.say(SAID, sender, message_id="m1", channel="webchat", district="oxmere")
    assert site.say(SAID, sender, message_id="m1", channel="webchat", district="oxmere") == first
    assert site.answer("from a takeaway", sender, message_id="m2")["kind"] != "unclear"
    body = {"sender": sender, "message_id": "m1", "kind": "wrong", "note": SAID[:400]}
    assert site.request("/api/remarks", json.dumps(body).encode(), "POST")[0] == 201
    # A message that is cut because it is long, one in capitals, and one without an id.
    site.say(f"{SAID} " * 30, sender)
    site.say(SAID.upper(), sender)
    site.say(f"Thaddeus's theremin. Thanks, {NAME}", sender)
    # A text message, and the same again.
    text = json.dumps({"number": PHONE, "text": SAID[:300]}).encode()
    for _ in range(2):
        kind = {"content-type": "application/json"}
        assert site.request("/sms-simulator/messages", text, "POST", **kind)[0] == 200
    # The agent's panel: a question and a remark.
    caller = "panel-" + uuid.uuid4().hex[:24]
    agent.post("/panel/api/ask", {"caller": caller, "message": SAID, "district": "oxmere"})
    told = {"caller": caller, "kind": "missing", "question": SAID[:400], "note": f"ring {PHONE}"}
    agent.post("/panel/api/remark", told)
    # A chat with a person: both sides, read by both as it was typed while it is open.
    agent.get("/panel/api/chats?ready=yes")
    opened = json.loads(
        site.request("/api/person", json.dumps({"sender": sender}).encode(), "POST")[2]
    )
    mine = [c for c in agent.get("/panel/api/chats")["chats"] if c["state"] == "waiting"][-1]["id"]
    agent.post(f"/panel/api/chats/{mine}/take")
    line = json.dumps({"message": f"I am {NAME}, ring {PHONE}"}).encode()
    assert site.request(f"/api/person/{opened['token']}", line, "POST")[0] == 200
    agent.post(f"/panel/api/chats/{mine}/say", {"text": f"Thank you {NAME}, I ring {PHONE}."})
    lines = [x["text"] for x in agent.get(f"/panel/api/chats/{mine}")["lines"]]
    assert f"I am {NAME}, ring {PHONE}" in lines
    assert "from a takeaway" in lines
    assert any("[name]" in x and "pizza box" in x for x in lines)
    assert raw_in(running.data) == []
    agent.post(f"/panel/api/chats/{mine}/end")
    agent.post("/panel/sign-out")
    kept = [r for r in Remarks(running.data / "remarks.db").all() if r.conversation == sender]
    assert [r.note.count("[phone]") for r in kept] == [1]
    assert raw_in(running.data) == []


def test_forgetting_beside_a_running_server_loses_no_answer(site, running):
    sender, ended = f"beside-{uuid.uuid4().hex}", threading.Event()
    failed: list[str] = []

    def talk() -> None:
        while not ended.is_set():
            told = site.answer("where do AA batteries go", sender, district="oxmere")
            if told["kind"] != "answer":
                failed.append(str(told))

    talking = threading.Thread(target=talk)
    talking.start()
    try:
        for _ in range(8):
            forget(running.data, What(conversation=sender))
            forget(running.data, What(before=1_000_000.0))
    finally:
        ended.set()
        talking.join()
    assert failed == []
    assert site.request("/health", None, "GET")[0] == 200


def test_the_check_itself_finds_what_is_there(tmp_path):
    (tmp_path / "a.db-wal").write_bytes(b"\0thaddeus\0")
    assert raw_in(tmp_path) == [("a.db-wal", "Thaddeus")]


def test_follow_up_about_a_thing_that_was_somebodys(site):
    """What is remembered is masked; the conversation goes on all the same."""
    sender = f"follow-{uuid.uuid4().hex}"
    asked = site.answer("my neighbour Sarah has a pizza box, where does it go", sender)
    assert asked["kind"] == "question"
    told = site.answer("it was a takeaway", sender, district="oxmere")
    assert [i["destination"] for i in told["items"]] == ["residual"]
