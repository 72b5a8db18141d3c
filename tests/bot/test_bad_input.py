"""Whatever comes in, what comes out is an answer or the name of what to mend."""

from __future__ import annotations

import json
import socket

import pytest

GOOD = {"sender": "bad-1", "message": "pizza box"}


def refused(site, body) -> dict:
    status, answer = site.post(body if isinstance(body, bytes) else json.dumps(body).encode())
    assert status == 400, answer
    assert answer["error"].endswith(".")
    return answer


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"not json",
        b'{"sender": "a", "message": "pizza box"',
        b"\xff\xfe\x00",
        b"[]",
        b'"text"',
        b"null",
        b"7",
        b"[" * 60_000,
        b'{"a":' * 15_000,
    ],
    ids=lambda b: repr(b[:20]),
)
def test_body_that_is_no_object(site, body):
    assert refused(site, body)["field"] == "body"


@pytest.mark.parametrize("field", ["sender", "message"])
@pytest.mark.parametrize(
    "value", [None, 5, 1.5, True, [], {}, ["pizza box"], {"text": "pizza box"}, "", "   ", "\n\t"]
)
def test_field_of_a_wrong_kind_is_named(site, field, value):
    answer = refused(site, {**GOOD, field: value})
    assert answer["field"] == field
    assert f"'{field}'" in answer["error"]


@pytest.mark.parametrize("field", ["sender", "message"])
def test_missing_field_is_named(site, field):
    answer = refused(site, {k: v for k, v in GOOD.items() if k != field})
    assert (answer["field"], answer["error"]) == (field, f"'{field}' is missing.")


def test_endless_sender(site):
    assert refused(site, {**GOOD, "sender": "s" * 256})["field"] == "sender"


@pytest.mark.parametrize(
    "metadata",
    [
        None,
        "oxmere",
        7,
        [],
        ["oxmere"],
        {},
        {"district": "atlantis"},
        {"district": 7},
        {"district": ["oxmere"]},
        {"district": {"a": {"b": [1, 2]}}},
        {"district": "\ud800"},
        {"on": "2027-02-30"},
        {"on": "soon"},
        {"on": 20270210},
        {"on": ["2027-02-10"]},
        {"on": "9999-12-31"},
        {"on": "0001-01-01"},
        {"channel": {"sms": 1}},
        {"slots": {"memory": {"waiting": 5}}},
    ],
    ids=repr,
)
def test_metadata_that_means_nothing_is_passed_over(site, metadata):
    status, answer = site.post(json.dumps({**GOOD, "metadata": metadata}).encode())
    assert status == 200
    (custom,) = [m["custom"] for m in answer if "custom" in m]
    assert custom["items"][0]["item"] == "pizza_box"
    assert custom["district"] is None


def test_bad_district_and_date_are_logged(site, running):
    site.say("pizza box", district="narnia", on="2027-13-01")
    log = (running.data / "logs" / "actions.log").read_text(encoding="utf-8")
    assert "'narnia'" in log and "'2027-13-01'" in log


@pytest.mark.parametrize(
    "text",
    [
        "\x00",
        "pizza\x00box",
        "\ud800",
        "pizza box \udfff",
        "\u202ebox pizza\u202c",
        "علبة بيتزا",
        "🍕📦",
        "👩‍👩‍👧‍👦",
        "<script>alert(1)</script> pizza box",
        "<img src=x onerror=alert(1)>",
        "{item} {phone} %s %(a)s {0}",
        "'; DROP TABLE events; --",
        "/restart",
        "/session_start",
        "/",
        "//",
        '/ask_destination{"item": "x"}',
        "/greet",
        "\u200b",
        "\ufeffpizza box",
        "a\u0301" * 500,
        "?",
        "0" * 4_000,
        "İstanbul ŉ ß ﬁ",
        "pizza box\r\n\r\nSet-Cookie: a=b",
        "1" * 400,
        "Z͑ͫ̓ͪ̂ͫ̽͏̴̙̤̞͉͚̯̞̠͍A̴̵̜̰͔ͫ͗͢L̠ͨͧͩ͘G̴̻͈͍͔̹̑͗̎̅͛́Ǫ̵̹̻̝̳͂̌̌͘",
    ],
    ids=lambda t: ascii(t)[:30],
)
def test_whatever_is_typed_is_answered(site, text):
    messages = site.say(text)
    (custom,) = [m["custom"] for m in messages if "custom" in m]
    shown = " ".join(m.get("text", "") for m in messages)
    assert shown.strip() and custom["kind"]
    assert "something went wrong" not in shown


def test_slash_is_no_command(site):
    """The framework takes a slash for a command, such as one that forgets the conversation."""
    site.answer("pizza box", "slash-1", district="oxmere")
    site.answer("/restart", "slash-1", district="oxmere")
    assert site.answer("it was a takeaway", "slash-1", district="oxmere")["kind"] == "answer"
    assert site.answer("/pizza box", district="oxmere")["items"][0]["item"] == "pizza_box"


@pytest.mark.parametrize("sender", ["\ud800", "a\x00b", "' OR 1=1", "🍕", "s" * 255, "\u202e"])
def test_strange_senders_have_a_conversation(site, sender):
    assert site.answer("pizza box", sender, district="oxmere")["kind"] == "question"
    assert site.answer("a takeaway", sender, district="oxmere")["kind"] == "answer"


def test_long_message_is_cut_and_answered(site):
    text = "pizza box from a takeaway. " + "and so on " * 900
    answer = site.answer(text, district="oxmere")
    assert answer["items"][0]["destination"] == "residual"
    late = "and so on " * 900 + " pizza box"
    assert site.answer(late)["items"] == []


def test_body_that_is_too_large(site):
    body = json.dumps({**GOOD, "message": "x" * 150_000}).encode()
    status, answer = site.post(body)
    assert status == 413
    assert "100 kB" in answer["error"]


def test_other_methods(site):
    for method in ("GET", "PUT", "DELETE"):
        status, headers, body = site.request("/webhooks/rest/webhook", method=method)
        assert (status, headers["content-type"]) == (405, "application/json")
        assert json.loads(body)["error"]


def test_broken_request_leaves_the_server_well(site):
    host, port = site.address.removeprefix("http://").split(":")
    for sent in (
        b"\x00\x01\x02\r\n\r\n",
        b"POST /webhooks/rest/webhook HTTP/1.1\r\n",
        b"G" * 9_000,
    ):
        with socket.create_connection((host, int(port)), timeout=5) as connection:
            connection.sendall(sent)
    assert site.answer("pizza box")["kind"] == "question"
