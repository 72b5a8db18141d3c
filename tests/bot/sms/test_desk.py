"""Commands, ways to say a number, limits, and what is remembered of a texter."""

from __future__ import annotations

import pytest

from bot.sms import keywords
from bot.sms.desk import Answer
from tests.bot.sms.webhook import ANN, BEN, SHARED

# Commands (common practice of text message services, no source)


@pytest.mark.parametrize(
    "word",
    ["STOP", "stop", " Stop. ", "STOPALL", "stop all", "Unsubscribe", "CANCEL", "end", "QUIT!"],
)
def test_stop_is_confirmed_once_and_then_there_is_silence(hook, word):
    confirmed = hook.text(ANN, word, "1")
    assert "no more texts" in confirmed and "START" in confirmed
    for number, text in enumerate(["STOP", "tins", "HELP", "", "1"]):
        assert hook.text(ANN, text, f"silent-{number}") == ""
    assert hook.text(BEN, "tins") == "Answer 3: tins"
    assert "STOP" in hook.text(ANN, "start", "back")
    assert hook.text(ANN, "tins", "again") == "Answer 4: tins"


def test_stop_holds_after_a_restart(make):
    first = make()
    first.text(ANN, "STOP")
    first.stop()
    assert make().text("0044 7700 900111", "tins") == ""


def test_danger_is_answered_even_after_stop(hook):
    hook.text(ANN, "STOP")
    hook.stub.says = lambda text: Answer("CALL 999 NOW.", "emergency" if "fire" in text else "x")
    assert hook.text(ANN, "battery on fire") == "CALL 999 NOW."
    assert hook.text(ANN, "tins") == ""


@pytest.mark.parametrize("word", ["HELP", "help", "Help?", "INFO", "info."])
def test_help_says_who_this_is_and_how_to_stop(hook, word):
    told = hook.text(ANN, word)
    assert "Merrowdale waste partnership" in told
    assert "01632 960118" in told and "STOP" in told
    assert len(told) <= 160
    assert hook.stub.asked == []


@pytest.mark.parametrize("text", ["", " ", "\n", "\t \r\n"])
def test_empty_message_gets_an_example(hook, text):
    assert "such as: old paint" in hook.text(ANN, text)
    assert hook.stub.asked == []


@pytest.mark.parametrize(
    "text",
    [
        "help my battery is smoking",
        "stop smoking",
        "end table",
        "cancel my garden waste",
        "information",
        "start",
        "how do I stop this",
        "quit it",
    ],
)
def test_command_words_count_only_alone(hook, text):
    assert keywords.command(text) == ("start" if text == "start" else "")


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1", "1"), ("1.", "1"), (" 2) ", "2"), ("(3)", "3"), ("#2", "2"), ("option 2", "2"),
        ("Option two", "2"), ("no. 2", "2"), ("number 1 please", "1"), ("the first one", "1"),
        ("2nd", "2"), ("the 2nd option", "2"), ("reply 1", "1"), ("It is 3", "3"), ("four", "4"),
        ("1 thanks", "1"), ("answer 2 x", "2"),
    ],
)  # fmt: skip
def test_ways_to_say_a_number(text, number):
    assert keywords.choice(text) == number


@pytest.mark.parametrize(
    "text",
    ["no", "yes", "12", "0", "1 litre", "2 tins", "one tin", "second hand", "the one", "option",
     "number", "1 2", "4x4", "9v", "1kg"],
)  # fmt: skip
def test_what_is_no_choice_stays_as_it_is(text):
    assert keywords.choice(text) == text


# Limits


def test_too_many_messages_get_one_polite_reply_then_silence(make):
    hook = make({**SHARED, "limit": {"messages": 3, "minutes": 10}})
    said = [hook.text(ANN, f"tins {n}") for n in range(6)]
    assert said[:3] == [f"Answer {n + 1}: tins {n}" for n in range(3)]
    assert "wait 10 minutes" in said[3] and "999" in said[3] and len(said[3]) <= 160
    assert said[4:] == ["", ""]
    assert hook.text(BEN, "tins") == "Answer 7: tins"
    assert "no more texts" in hook.text(ANN, "STOP")


def test_a_danger_is_told_of_beyond_the_limit(make):
    hook = make({**SHARED, "limit": {"messages": 2, "minutes": 10}})
    hook.stub.says = lambda text: Answer(
        f"to {text}", kind="emergency" if "fire" in text else "answer"
    )
    said = [hook.text(ANN, text) for text in ("tins", "jars", "cans", "it is on fire", "lids")]
    assert "999" in said[2]
    assert said[3:] == ["to it is on fire", ""]


def test_tries_of_one_message_do_not_count(make):
    hook = make({**SHARED, "limit": {"messages": 2, "minutes": 10}})
    for _ in range(5):
        hook.text(ANN, "tins", "m1")
    assert hook.text(ANN, "paint", "m2") == "Answer 2: paint"


# The district


def test_district_is_remembered_and_can_change(make):
    first = make()
    first.stub.says = lambda text: Answer("ok", district="oxmere" if "oxmere" in text else None)
    first.text(ANN, "i live in oxmere")
    first.text(ANN, "tins")
    assert [d for _, _, d, _ in first.stub.asked] == [None, "oxmere"]
    first.stop()
    second = make()
    second.stub.says = lambda text: Answer("ok", district="tarnside" if "moved" in text else None)
    second.text("+44 7700 900111", "we moved to tarnside")
    second.text(ANN, "paint")
    second.text(BEN, "paint")
    assert [d for _, _, d, _ in second.stub.asked] == ["oxmere", "tarnside", None]


def test_conversation_starts_afresh_after_hours(hook):
    hook.text(ANN, "tins")
    hook.text(ANN, "paint")
    texter = hook.store.texter(hook.numbers.name(ANN))
    hook.store.db.execute("UPDATE texters SET seen = ?", (texter.seen - 13 * 3600,))
    hook.text(ANN, "oil")
    assert [afresh for _, _, _, afresh in hook.stub.asked] == [True, False, True]
