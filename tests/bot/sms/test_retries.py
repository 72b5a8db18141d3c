"""A gateway that tries again gets the same reply, and nothing is answered twice."""

from __future__ import annotations

import threading
import time

import pytest

from bot.sms.desk import Answer
from tests.bot.sms.webhook import ANN, BEN, SHARED


def test_second_try_gets_the_same_reply_and_is_not_answered_again(hook):
    first = hook.text(ANN, "tins", "m1")
    assert [hook.text(ANN, "tins", "m1") for _ in range(3)] == [first] * 3
    assert hook.text("+447700900111", "tins", "m1") == first
    assert len(hook.stub.asked) == 1
    assert hook.text(ANN, "tins", "m2") != first
    assert hook.text(BEN, "tins", "m1") != first


def test_second_try_after_a_restart(make):
    first = make()
    reply = first.text(ANN, "tins", "m1")
    first.stop()
    second = make()
    assert second.text(ANN, "tins", "m1") == reply
    assert second.stub.asked == []


def test_tries_at_the_same_time_are_answered_once(hook):
    hook.stub.seconds = 0.4
    replies: list[str] = []
    threads = [
        threading.Thread(target=lambda: replies.append(hook.text(ANN, "tins", "m1")))
        for _ in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert replies == ["Answer 1: tins"] * 8
    assert len(hook.stub.asked) == 1


def test_gateway_that_hangs_up_finds_the_reply_at_its_next_try(hook):
    hook.stub.seconds = 1.0
    with pytest.raises(OSError):
        hook.call({"from": ANN, "text": "tins", "id": "m1"}, timeout=0.2)
    hook.stub.seconds = 0.0
    assert hook.text(ANN, "tins", "m1") == "Answer 1: tins"
    assert len(hook.stub.asked) == 1


def test_message_whose_answer_was_cut_off_by_a_crash_is_answered_then(make):
    first = make()
    name = first.numbers.name(ANN)
    key = first.numbers.mac("message", name, "id", '["m1"]').hex()
    first.store.begin(key, name, time.time())
    first.stop()
    assert make().text(ANN, "tins", "m1") == "Answer 1: tins"


def test_without_an_id_the_same_text_counts_again_after_a_while(make):
    hook = make({**SHARED, "repeat_within": 1})
    first = hook.text(ANN, "1")
    assert hook.text(ANN, "1") == first
    assert hook.text(BEN, "1") != first
    time.sleep(1.1)
    assert hook.text(ANN, "1") != first


def test_failure_inside_leaves_the_message_to_the_next_try(hook):
    def fail(_: str) -> Answer:
        raise RuntimeError("broken")

    hook.stub.says = fail
    status, told = hook.call({"from": ANN, "text": "tins", "id": "m1"})
    assert status == 500
    assert "broken" not in told and "Traceback" not in told
    hook.stub.says = None
    assert hook.text(ANN, "tins", "m1") == "Answer 2: tins"


def test_two_messages_of_one_person_keep_their_order(hook):
    hook.stub.seconds = 0.3
    thread = threading.Thread(target=lambda: hook.text(ANN, "tins", "m1"))
    thread.start()
    time.sleep(0.1)
    assert hook.text(ANN, "paint", "m2") == "Answer 2: paint"
    thread.join()
    assert [text for _, text, _, _ in hook.stub.asked] == ["tins", "paint"]
