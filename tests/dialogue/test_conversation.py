"""How a conversation goes: questions and what answers them, several things, changes of mind."""

from __future__ import annotations

from typing import Any

import pytest
from talking import BOOK, DAY, NUMBER, Answer, Talk, asked, goes

# Questions and what answers them

ANSWERS = [
    ("pizza box", "From a takeaway", "residual"),
    ("pizza box", "from a takeaway.", "residual"),
    ("pizza box", "Cooked at home", "paper_card"),
    ("pizza box", "1", "residual"),
    ("pizza box", " 2 ", "paper_card"),
    ("pizza box", "2.", "paper_card"),
    ("pizza box", "takeaway", "residual"),
    ("pizza box", "home", "paper_card"),
    ("pizza box", "we had it delivered", "residual"),
    ("pizza box", "we made it ourselves", "paper_card"),
    ("pizza box", "not a takeaway", "paper_card"),
    ("hairspray can", "not_empty", "recycling_centre"),
    ("hairspray can", "its mt", "containers"),
    ("hairspray can", "yes", "containers"),
    ("hairspray can", "no", "recycling_centre"),
    ("hairspray can", "theres still some in it", "recycling_centre"),
    ("paint tin", "4", "reuse"),
    ("paint tin", "3/4 full", "reuse"),
    ("paint tin", "gone rock hard", "residual"),
    ("coat hanger", "3", "reuse"),
    ("coat hanger", "plastic", "residual"),
    ("ash", "its been cold for a week", "residual"),
    ("ash", "still warm", "hold"),
    ("ash", "not cold yet", "hold"),
    ("glasses", "drinking ones", "residual"),
    ("battery", "a car one", "recycling_centre"),
    ("power bank", "a bit swollen", "specialist"),
    ("power bank", "nothing wrong with it", "recycling_centre"),
    ("mug", "chipped", "residual"),
    ("old jumper", "yes its wearable", "reuse"),
]


@pytest.mark.parametrize(("thing", "reply", "destination"), ANSWERS)
def test_reply_settles_the_question(thing: str, reply: str, destination: str, talk: Talk) -> None:
    first = talk(thing)
    assert first["kind"] == "question"
    assert first["items"][0]["destination"] is None
    second = talk(reply)
    assert (second["kind"], [i["destination"] for i in second["items"]]) == (
        "answer",
        [destination],
    )
    assert second["asks"] is None


@pytest.mark.parametrize("item", ["pizza box", "paint tin", "tray", "light bulb", "oil", "glasses"])
def test_every_button_settles_or_asks_on(item: str, say: Any) -> None:
    """By label, by value and by number alike."""
    meta = {"district": "oxmere", "on": DAY}
    options = say(item, f"options-{item}", **meta)["asks"]["options"]
    for number, option in enumerate(options, 1):
        ends = []
        for reply in (option["label"], option["value"], str(number), option["label"].upper()):
            sender = f"button-{next(NUMBER)}"
            say(item, sender, **meta)
            answer = say(reply, sender, **meta)
            assert answer["kind"] in ("answer", "question"), reply
            ends.append((goes(answer), asked(answer)))
        assert all(e == ends[0] for e in ends), (option, ends)


def test_number_that_is_no_option(talk: Talk) -> None:
    talk("pizza box")
    assert talk("3")["kind"] == "question"
    assert goes(talk("2")) == {"pizza_box": "paper_card"}


CAREFUL = [
    ("pizza box", "pizza_box", "food_origin", "residual"),
    ("ash", "ash", "temperature", "hold"),
    ("greetings card", "greetings_card", "finish", "residual"),
    ("hairspray can", "aerosol", "contents", "recycling_centre"),
    ("power bank", "power_bank", "damage", "specialist"),
]
VAGUE = [("dunno", "no idea mate"), ("not sure", "i really cant say"), ("asdkjh", "hmm")]


@pytest.mark.parametrize("vague", VAGUE, ids=lambda v: v[0])
@pytest.mark.parametrize(("thing", "item", "condition", "destination"), CAREFUL)
def test_vague_twice_gets_the_careful_answer(
    thing: str, item: str, condition: str, destination: str, vague: tuple[str, str], talk: Talk
) -> None:
    first = talk(thing)
    again = talk(vague[0])
    assert asked(first) == asked(again) == (item, condition)
    assert first["asks"]["options"] == again["asks"]["options"]
    assert first["text"] != again["text"], "the question is put in other words"
    last = talk(vague[1])
    assert (last["kind"], goes(last)) == ("cautious", {item: destination})
    told = BOOK.conditions[condition].question.format(item=BOOK.items[item].name)
    assert told in last["text"], "it says what would change it"


def test_vague_once_then_settled(talk: Talk) -> None:
    talk("pizza box")
    talk("dunno")
    answer = talk("oh wait, it was delivered")
    assert (answer["kind"], goes(answer)) == ("answer", {"pizza_box": "residual"})


def test_settled_after_the_careful_answer(talk: Talk) -> None:
    for message in ("ash", "not sure", "really not sure"):
        talk(message)
    answer = talk("actually its been cold for a week")
    assert (answer["kind"], goes(answer)) == ("answer", {"ash": "residual"})


def test_vague_about_the_district(anywhere: Talk) -> None:
    assert asked(anywhere("cereal boxes")) == ("cereal_box", "district")
    assert asked(anywhere("not sure")) == ("cereal_box", "district")
    answer = anywhere("no idea")
    assert (answer["kind"], goes(answer)) == ("cautious", {"cereal_box": "residual"})


GIVEN = [
    ("empty hairspray can", "aerosol", "containers"),
    ("hairspray can, half full", "aerosol", "recycling_centre"),
    ("pizza box we cooked at home", "pizza_box", "paper_card"),
    ("takeaway pizza box", "pizza_box", "residual"),
    ("paint tin, dried hard", "paint_tin", "residual"),
    ("cold ash", "ash", "residual"),
    ("ash, still warm", "ash", "hold"),
    ("swollen power bank", "power_bank", "specialist"),
    ("birthday card with glitter", "greetings_card", "residual"),
    ("a chipped mug", "mug", "residual"),
    ("real christmas tree", "christmas_tree", "garden"),
]


@pytest.mark.parametrize(("message", "item", "destination"), GIVEN)
def test_condition_given_first_is_not_asked(
    message: str, item: str, destination: str, talk: Talk
) -> None:
    answer = talk(message)
    assert (answer["kind"], goes(answer)) == ("answer", {item: destination})


# A new question in the middle

MIDDLE = [
    ("what about jam jars", {"glass_jar": "containers"}),
    ("sorry, first: old magazines?", {"magazine": "paper_card"}),
    ("where do used tissues go?", {"tissue": "residual"}),
    ("and a didgeridoo?", {None: "residual"}),
    ("where does a didgeridoo go?", {None: "residual"}),
]


@pytest.mark.parametrize(("message", "new"), MIDDLE)
def test_new_question_is_answered_and_the_open_one_put_again(
    message: str, new: dict[str | None, str], talk: Talk
) -> None:
    talk("hairspray can")
    middle = talk(message)
    assert middle["kind"] == "question"
    assert goes(middle) == {**new, "aerosol": None}
    assert asked(middle) == ("aerosol", "contents")
    last = talk("it is empty")
    assert (last["kind"], goes(last)) == ("answer", {"aerosol": "containers"})


@pytest.mark.parametrize(
    ("message", "kind"),
    [
        ("thanks", "small_talk"),
        ("hello", "small_talk"),
        ("where is the tip?", "information"),
        ("you missed my bin", "referral"),
        ("what is the weather tomorrow", "referral"),
    ],
)
def test_other_talk_leaves_the_question_open(message: str, kind: str, talk: Talk) -> None:
    talk("pizza box")
    assert talk(message)["kind"] == kind
    assert goes(talk("takeaway")) == {"pizza_box": "residual"}


def test_two_questions_one_after_the_other(talk: Talk) -> None:
    """A second thing with a question of its own does not lose the first."""
    talk("hairspray can")
    assert asked(talk("what about a pizza box?")) == ("pizza_box", "food_origin")
    second = talk("takeaway")
    assert goes(second) == {"pizza_box": "residual", "aerosol": None}
    assert asked(second) == ("aerosol", "contents")
    assert goes(talk("empty")) == {"aerosol": "containers"}


def test_emergency_comes_before_an_open_question(talk: Talk) -> None:
    talk("pizza box")
    answer = talk("the battery is on fire")
    assert (answer["kind"], goes(answer)) == ("emergency", {"battery": "emergency"})


# Several things


def test_at_most_one_question_at_a_time(talk: Talk) -> None:
    first = talk("pizza box and hairspray can and newspaper and a mug")
    assert goes(first) == {
        "newspaper": "paper_card",
        "pizza_box": None,
        "aerosol": None,
        "mug": None,
    }
    assert asked(first) == ("pizza_box", "food_origin")
    second = talk("takeaway")
    assert goes(second) == {"pizza_box": "residual", "aerosol": None, "mug": None}
    assert asked(second) == ("aerosol", "contents")
    third = talk("its empty")
    assert goes(third) == {"aerosol": "containers", "mug": None}
    last = talk("broken")
    assert (last["kind"], goes(last)) == ("answer", {"mug": "residual"})


def test_one_reply_for_two_things(talk: Talk) -> None:
    talk("mug and plate")
    answer = talk("both broken")
    assert answer["kind"] == "answer"
    assert [i["destination"] for i in answer["items"]] == ["residual", "residual"]


def test_several_decided_at_once(talk: Talk) -> None:
    answer = talk("empty jam jars, a stack of letters and last week's kitchen roll")
    assert answer["kind"] == "answer"
    assert [i["destination"] for i in answer["items"]] == ["containers", "paper_card", "residual"]


def test_known_and_unknown_together(talk: Talk) -> None:
    answer = talk("jam jars and a didgeridoo")
    assert (answer["kind"], goes(answer)) == (
        "cautious",
        {"glass_jar": "containers", None: "residual"},
    )


def test_second_condition_told_early_is_kept(talk: Talk) -> None:
    assert asked(talk("book")) == ("book", "readable")
    talk("paperback")
    answer = talk("no")
    assert (answer["kind"], [i["destination"] for i in answer["items"]]) == (
        "answer",
        ["paper_card"],
    )


# A change of mind

CHANGED = [
    ("pizza box", "takeaway", "sorry, I meant we cooked it at home", "paper_card"),
    ("pizza box", "takeaway", "no, cooked at home actually", "paper_card"),
    ("pizza box", "home", "wait, it was a takeaway", "residual"),
    ("mug", "broken", "hang on, still usable", "reuse"),
    ("hairspray can", "empty", "actually there is some left", "recycling_centre"),
    ("ash", "cold", "no wait, it is still warm", "hold"),
    ("pizza box", "home", "oh no it was a takeaway", "residual"),
    ("mug", "broken", "no wait its fine", "reuse"),
    ("coat hanger", "metal", "sorry, plastic", "residual"),
]


@pytest.mark.parametrize(("thing", "reply", "second", "destination"), CHANGED)
def test_change_of_mind(thing: str, reply: str, second: str, destination: str, talk: Talk) -> None:
    talk(thing)
    before = talk(reply)
    after = talk(second)
    assert (after["kind"], [i["destination"] for i in after["items"]]) == ("answer", [destination])
    assert goes(before) != goes(after)


@pytest.mark.parametrize(
    ("thing", "more", "destination"),
    [
        ("newspaper", "what if it is greasy", "residual"),
        ("newspaper", "it is soaked", "residual"),
        ("newspaper", "and if it is wet?", "residual"),
        ("kettle", "it works actually", "reuse"),
        ("AA batteries", "they are leaking", "recycling_centre"),
        ("cleaning bottle", "still some in it", "recycling_centre"),
    ],
)
def test_what_was_assumed_is_put_right(thing: str, more: str, destination: str, talk: Talk) -> None:
    before = talk(thing)
    after = talk(more)
    assert (before["kind"], after["kind"]) == ("answer", "answer")
    assert [i["destination"] for i in after["items"]] == [destination]


# What will not do


@pytest.mark.parametrize(
    ("messages", "destination"),
    [
        (["crisp packets", "there is no shop near me"], "residual"),
        (["vape", "no shop will take it"], "recycling_centre"),
        (["grass cuttings", "I do not have a brown bin"], "recycling_centre"),
        (["sofa", "good condition", "the charity shop said no"], "recycling_centre"),
        (["coffee pods", "no shop takes them"], "residual"),
    ],
)
def test_alternative_when_the_first_will_not_do(
    messages: list[str], destination: str, talk: Talk
) -> None:
    *before, last = messages
    for message in before:
        first = talk(message)
    assert first["items"][0]["destination"] != destination
    assert destination in first["items"][0]["alternatives"]
    answer = talk(last)
    assert answer["kind"] == "answer"
    assert answer["items"][0]["destination"] == destination


# The same question, the same answer

REPEATED = ["newspapers", "a didgeridoo", "pizza box", "where do AA batteries go", "empty aerosol"]


def told(answer: Answer) -> Answer:
    return {k: v for k, v in answer.items() if k != "recipient_id"}


@pytest.mark.parametrize("message", REPEATED)
def test_ten_times_the_same(message: str, say: Any) -> None:
    """In conversations of their own, with other conversations in between."""
    answers = []
    for n in range(10):
        meta = {"district": "oxmere", "on": DAY}
        answers.append(say(message, f"ten-{next(NUMBER)}", **meta))
        say(REPEATED[n % len(REPEATED)], f"between-{message}", district="tarnside", on="2027-05-01")
        say("it was a takeaway, no it is empty", f"between-{message}", district="tarnside")
    assert all(told(a) == told(answers[0]) for a in answers)


@pytest.mark.parametrize("message", REPEATED)
def test_ten_times_the_same_in_one_conversation(message: str, talk: Talk) -> None:
    answers = [told(talk(message)) for _ in range(10)]
    assert all(a == answers[0] for a in answers)
