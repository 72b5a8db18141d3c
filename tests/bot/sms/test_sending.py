"""Replies that are sent by a call, and channels of the framework."""

from __future__ import annotations

import json
import time
import urllib.parse
from typing import Any

import pytest

from bot.processes import Failed
from bot.sms.desk import Answer
from tests.bot.sms.webhook import ANN, SendAddress, sending

# Sending


@pytest.mark.parametrize("way", ["form", "json", "query", "get"])
def test_reply_by_the_send_address(make, address, way, monkeypatch):
    monkeypatch.setenv("GATEWAY_PASSWORD", "secret & more")
    fields = {"to": "{to}", "from": "{from}", "text": "{text}", "pw": {"env": "GATEWAY_PASSWORD"}}
    how = {"method": "GET"} if way == "get" else {"as": way}
    more = {"fields": fields, "headers": {"x-auth": {"env": "GATEWAY_PASSWORD"}}, **how}
    hook = make(sending(address, **more))
    hook.stub.says = lambda text: Answer("50% & more? £1 #café")
    status, body = hook.call({"from": ANN, "to": "80800", "text": "tins", "id": "m1"})
    assert (status, body) == (200, "")
    (call,) = address.sent(1)
    expected = {"to": ANN, "from": "80800", "text": "50% & more? £1 #café", "pw": "secret & more"}
    if way == "json":
        assert json.loads(call["body"]) == expected
    else:
        raw = call["body"] if way == "form" else call["path"].partition("?")[2]
        assert dict(urllib.parse.parse_qsl(raw)) == expected
    assert {k.lower(): v for k, v in call["headers"].items()}["x-auth"] == "secret & more"


def test_second_try_is_not_sent_again(make, address):
    hook = make(sending(address))
    for _ in range(4):
        assert hook.text(ANN, "tins", "m1") == ""
    address.sent(1)
    time.sleep(0.4)
    assert len(address.calls) == 1
    assert hook.store.waiting() == 0


def test_gateway_that_fails_is_tried_again_in_order(make):
    address = SendAddress(500, 503, 429)
    hook = make(sending(address))
    hook.text(ANN, "tins", "m1")
    hook.text(ANN, "paint", "m2")
    calls = address.sent(5)
    texts = [dict(urllib.parse.parse_qsl(c["body"]))["message"] for c in calls]
    assert texts == ["Answer 1: tins"] * 4 + ["Answer 2: paint"]
    refs = {dict(urllib.parse.parse_qsl(c["body"]))["ref"] for c in calls}
    assert len(refs) == 2
    address.stop()


def test_what_is_unsent_at_a_restart_is_sent_then(make):
    away = SendAddress(*[500] * 100)
    first = make(sending(away, wait=30))
    first.text(ANN, "tins", "m1")
    away.sent(1)
    first.stop()
    away.stop()
    there = SendAddress()
    second = make(sending(there))
    second.store.db.execute("UPDATE outbox SET due = 0")
    second.loop.call_soon_threadsafe(second.outbox.wake)
    (call,) = there.sent(1)
    assert dict(urllib.parse.parse_qsl(call["body"]))["to"] == ANN
    assert second.text(ANN, "tins", "m1") == ""
    time.sleep(0.3)
    assert len(there.calls) == 1
    there.stop()


def test_number_is_gone_when_a_message_is_given_up(make):
    address = SendAddress(*[500] * 100)
    hook = make(sending(address, attempts=3))
    hook.text(ANN, "tins", "m1")
    address.sent(3)
    time.sleep(0.3)
    assert (hook.store.waiting(), hook.outbox.given_up, len(address.calls)) == (0, 1, 3)
    address.stop()


def test_stop_takes_back_what_waits(make):
    address = SendAddress(*[500] * 100)
    hook = make(sending(address, wait=30))
    hook.text(ANN, "tins", "m1")
    address.sent(1)
    hook.text(ANN, "STOP", "m2")
    calls = address.sent(2)
    assert "no+more+texts" in calls[1]["body"]
    assert hook.store.waiting() == 1
    address.stop()


# A channel of the framework


def test_channel_of_the_framework_behind_the_desk(make, address):
    """The framework's own generic `callback` channel: its class, its field names, its sending."""
    hook = make(
        {
            "connector": {
                "class": "rasa.core.channels.callback.CallbackInput",
                "credentials": {"url": address.url},
            }
        }
    )
    path = "/webhooks/callback/webhook"
    assert hook.call({"sender": ANN, "message": "tins"}, path=path)[0] == 200
    (call,) = address.sent(1)
    assert json.loads(call["body"]) == {"recipient_id": ANN, "text": "Answer 1: tins"}
    assert hook.stub.asked[0][0] == f"sms-{hook.numbers.name(ANN)}"
    assert hook.call({"sender": ANN, "message": "STOP"}, path=path)[0] == 200
    assert "no more texts" in json.loads(address.sent(2)[1]["body"])["text"]
    hook.call({"sender": ANN, "message": "paint"}, path=path)
    time.sleep(0.3)
    assert len(address.calls) == 2
    assert hook.call({"from": ANN, "text": "x"})[0] == 404


class NoChannel:
    @classmethod
    def from_credentials(cls, _: Any) -> NoChannel:
        return cls()


@pytest.mark.parametrize(
    "path", ["nowhere.Channel", "json.JSONDecoder", f"{__name__}.NoChannel", "bot.cli.nothing"]
)
def test_class_that_is_no_channel_is_refused(make, path):
    with pytest.raises(Failed, match="connector"):
        make({"connector": {"class": path}})
