"""What residents say of answers: the store, and the address that takes it."""

from __future__ import annotations

import json

import pytest

from bot.remarks import NOTE, Remarks
from bot.webchat import intake

WHEN = {"district": "oxmere", "on": "2027-02-10", "channel": "webchat"}


def test_remarks_are_kept_in_their_order(tmp_path):
    remarks = Remarks(tmp_path / "new" / "remarks.db")
    said = {"channel": "panel", "conversation": "c", "question": "q"}
    assert remarks.add("right", **said) < remarks.add("missing", note="£ ☃", **said)
    first, second = Remarks(tmp_path / "new" / "remarks.db").all()
    assert (first.kind, first.note, first.reply, first.turn) == ("right", "", None, None)
    assert (second.kind, second.note) == ("missing", "£ ☃")


def test_remark_on_the_same_turn_takes_the_place_of_the_one_before(tmp_path):
    remarks = Remarks(tmp_path / "remarks.db")
    said = {"channel": "webchat", "question": "q", "reply": {"kind": "answer"}}
    first = remarks.add("right", conversation="c", turn="1", **said)
    assert remarks.add("wrong", conversation="c", turn="1", note="grey", **said) == first
    assert remarks.add("wrong", conversation="d", turn="1", **said) != first
    kept = [(r.kind, r.note, r.conversation, r.reply) for r in remarks.all()]
    assert kept == [
        ("wrong", "grey", "c", {"kind": "answer"}),
        ("wrong", "", "d", {"kind": "answer"}),
    ]


@pytest.mark.parametrize("wrong", [{"kind": "bad"}, {"note": "x" * (NOTE + 1)}])
def test_what_is_no_remark_is_refused(tmp_path, wrong):
    remarks = Remarks(tmp_path / "remarks.db")
    said = {"kind": "right", "channel": "w", "conversation": "c", "question": "q", **wrong}
    with pytest.raises(ValueError, match=r"kind|characters"):
        remarks.add(said.pop("kind"), **said)
    assert remarks.all() == []


def give(site, body, **headers):
    sent = body if isinstance(body, bytes) else json.dumps(body).encode()
    status, found, answer = site.request("/api/remarks", sent, "POST", **headers)
    return status, json.loads(answer), found


def test_question_and_answer_come_from_the_stored_conversation(site, running):
    site.say("pizza box", "remark-1", message_id="m1", **WHEN)
    site.say("takeaway", "remark-1", message_id="m2", **WHEN)
    site.say("used tissues", "remark-1", message_id="m3", **WHEN)
    told = {"sender": "remark-1", "message_id": "m2", "kind": "wrong", "note": " it was clean "}
    status, answer, _ = give(site, {**told, "question": "forged", "reply": {}})
    assert status == 201
    (kept,) = [
        r for r in Remarks(running.data / "remarks.db").all() if r.conversation == "remark-1"
    ]
    assert kept.id == answer["stored"]
    assert (kept.question, kept.note, kept.turn) == ("takeaway", "it was clean", "m2")
    assert (kept.district, kept.on, kept.channel) == ("oxmere", "2027-02-10", "webchat")
    assert [i["destination"] for i in kept.reply["items"]] == ["residual"]


WRONG = {
    "body": (b"{", 400),
    "message_id": ({"sender": "remark-2", "message_id": "none", "kind": "right"}, 404),
    "kind": ({"sender": "remark-2", "message_id": "m1", "kind": "great"}, 400),
    "sender": ({"message_id": "m1", "kind": "right"}, 400),
    "note": ({"sender": "s", "message_id": "m1", "kind": "wrong", "note": "x" * 501}, 400),
}


@pytest.mark.parametrize("field", WRONG)
def test_wrong_remark_is_told_by_its_field(site, field):
    body, status = WRONG[field]
    found, answer, _ = give(site, body)
    assert (found, answer["field"]) == (status, field)
    assert answer["error"].endswith(".")


def test_large_body_and_another_site_are_refused(site):
    body = {"sender": "s", "message_id": "m", "kind": "wrong", "note": "x" * intake.LARGEST}
    assert give(site, body)[0] == 413
    body["note"] = ""
    status, answer, headers = give(site, body, origin="https://elsewhere.example")
    assert (status, answer["field"]) == (403, "origin")
    assert "webchat: origins" in answer["error"]
    assert "access-control-allow-origin" not in {name.lower() for name in headers}


def test_too_many_remarks_have_to_wait(site):
    site.say("used tissues", "remark-3", message_id="m1", **WHEN)
    body = {"sender": "remark-3", "message_id": "m1", "kind": "right"}
    statuses = [give(site, body)[0] for _ in range(intake.EACH.number)]
    assert set(statuses) == {201}
    status, answer, headers = give(site, body)
    assert status == 429 and "later" in answer["error"]
    assert 0 < int({k.lower(): v for k, v in headers.items()}["retry-after"]) <= 600
