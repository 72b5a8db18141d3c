"""How a conversation goes: questions and what answers them, changes of mind, odd input, wording."""

from __future__ import annotations

import itertools
import random
import re
from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

import pytest
import yaml

from actions.wording import FILE
from rules import load, sms
from rules.model import Book

BOOK = load()
DAY = "2026-12-01"
NUMBER = itertools.count()

Answer = dict[str, Any]
Talk = Callable[..., Answer]


@pytest.fixture
def talk(say: Any) -> Talk:
    """Says a message in one conversation, in Pellbrook on a fixed day unless told otherwise."""
    sender = f"conversation-{next(NUMBER)}"

    def speak(message: str, **metadata: Any) -> Answer:
        answer = say(message, sender, **{"district": "pellbrook", "on": DAY, **metadata})
        return dict(answer)

    return speak


@pytest.fixture
def anywhere(say: Any) -> Talk:
    """Says a message in one conversation whose channel names no district."""
    sender = f"conversation-{next(NUMBER)}"

    def speak(message: str, **metadata: Any) -> Answer:
        return dict(say(message, sender, **{"on": DAY, **metadata}))

    return speak


def goes(answer: Answer) -> dict[str | None, str | None]:
    """Where each thing of an answer goes."""
    return {i["item"]: i["destination"] for i in answer["items"]}


def asked(answer: Answer) -> tuple[str, str] | None:
    """What an answer asks: the thing and the condition."""
    asks = answer["asks"]
    return (asks["item"], asks["condition"]) if asks else None


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


# The district


def test_district_is_asked_only_when_it_matters(anywhere: Talk) -> None:
    answer = anywhere("used tissues")
    assert (answer["kind"], answer["district"]) == ("answer", None)
    assert answer["items"][0]["container"] is None
    assert "your general waste bin" in answer["text"]
    assert asked(anywhere("laptop")) == ("laptop", "district")


@pytest.mark.parametrize("reply", ["Oxmere", "oxmere", "1", "I'm in oxmere", "oxmeer", "OXMERE."])
def test_district_answered(reply: str, anywhere: Talk) -> None:
    question = anywhere("cereal boxes")
    assert [o["value"] for o in question["asks"]["options"]] == list(BOOK.districts)
    answer = anywhere(reply)
    assert (answer["kind"], answer["district"]) == ("answer", "oxmere")
    assert goes(answer) == {"cereal_box": "mixed_recycling"}


def test_district_is_remembered_and_changed(anywhere: Talk) -> None:
    anywhere("cereal boxes")
    anywhere("pellbrook")
    assert goes(anywhere("newspapers")) == {"newspaper": "paper_card"}
    anywhere("I have moved to oxmere")
    answer = anywhere("jam jars")
    assert (answer["district"], goes(answer)) == ("oxmere", {"glass_jar": "mixed_recycling"})


def test_district_told_first(anywhere: Talk) -> None:
    assert anywhere("I live in tarnside")["kind"] == "information"
    answer = anywhere("jam jars")
    assert (answer["kind"], answer["district"]) == ("answer", "tarnside")


def test_district_of_the_message_is_for_one_answer(talk: Talk) -> None:
    answer = talk("where do jam jars go in oxmere")
    assert (answer["district"], goes(answer)) == ("oxmere", {"glass_jar": "mixed_recycling"})
    answer = talk("where do newspapers go")
    assert (answer["district"], goes(answer)) == ("pellbrook", {"newspaper": "paper_card"})


def test_district_of_a_short_message_is_for_one_answer(talk: Talk) -> None:
    assert goes(talk("newspapers in oxmere")) == {"newspaper": "mixed_recycling"}
    assert goes(talk("jam jars")) == {"glass_jar": "containers"}


def test_same_thing_elsewhere(talk: Talk) -> None:
    talk("newspapers")
    answer = talk("what about in oxmere?")
    assert (answer["district"], goes(answer)) == ("oxmere", {"newspaper": "mixed_recycling"})


def test_district_chosen_anew_in_the_channel_counts(talk: Talk) -> None:
    talk("I live in oxmere")
    answer = talk("jam jars", district="tarnside")
    assert (answer["district"], goes(answer)) == ("tarnside", {"glass_jar": "containers"})


def test_question_and_district(anywhere: Talk) -> None:
    """First the district, then the condition; never both at once."""
    assert asked(anywhere("laptop and pizza box")) == ("laptop", "district")
    second = anywhere("oxmere")
    assert goes(second) == {"laptop": "electricals_bag", "pizza_box": None}
    assert goes(anywhere("takeaway")) == {"pizza_box": "residual"}


# The day


@pytest.mark.parametrize(
    ("message", "day", "destination"),
    [
        ("bread bags from 31 march 2027", "2027-03-31", "containers"),
        ("bread bags on 30 march 2027", "2027-03-30", "shop_take_back"),
        ("bread bags on 2027-04-01", "2027-04-01", "containers"),
        ("where will bread bags go in april 2027", "2027-04-01", "containers"),
        ("where will bread bags go next april", "2027-04-01", "containers"),
    ],
)
def test_day_of_the_message(message: str, day: str, destination: str, talk: Talk) -> None:
    answer = talk(message)
    assert (answer["on"], goes(answer)) == (day, {"bread_bag": destination})
    back = talk("bread bags")
    assert (back["on"], goes(back)) == (DAY, {"bread_bag": "shop_take_back"})


def test_same_thing_another_day(talk: Talk) -> None:
    talk("crisp packets")
    answer = talk("what about from april 2027?")
    assert (answer["on"], goes(answer)) == ("2027-04-01", {"crisp_packet": "containers"})
    answer = talk("what about today?")
    assert (answer["on"], goes(answer)) == (DAY, {"crisp_packet": "shop_take_back"})


def test_container_of_the_day(talk: Talk) -> None:
    before = talk("newspapers", district="tarnside", on="2027-01-31")
    after = talk("newspapers", district="tarnside", on="2027-02-01")
    assert before["items"][0]["container"] == "white sack"
    assert after["items"][0]["container"] == "grey bin with a yellow lid"


def test_answer_says_the_day_it_is_for(talk: Talk) -> None:
    talk("bread bags")
    talk("and after april 2027?")
    answer = talk("and in tarnside?")
    expected = "2027-04-01" if goes(answer) == {"bread_bag": "containers"} else DAY
    assert answer["on"] == expected


def test_answer_says_the_district_it_is_for(talk: Talk) -> None:
    talk("where do jam jars go in oxmere")
    answer = talk("what if they are broken")
    container = {"oxmere": "maroon bin", "pellbrook": "dark grey bin"}
    assert answer["items"][0]["container"] == container[answer["district"]]


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


# Odd input

UNCLEAR = [
    "...",
    "?",
    " ",
    "!!!",
    "-",
    "0",
    "1",
    "a",
    "🍕",
    "📦📦",
    "👩‍👩‍👧‍👦",
    "علبة بيتزا",
    "比萨盒",
    "\u202e\u202e",
    "\x00\x01",
    "\u200b",
    "x" * 20_000,
    "🍕" * 20_000,
    "sdkfj sldkf",
]


@pytest.mark.parametrize("text", UNCLEAR, ids=lambda t: ascii(t)[:25])
def test_nothing_to_understand(text: str, talk: Talk) -> None:
    answer = talk(text)
    assert (answer["kind"], answer["items"], answer["asks"]) == ("unclear", [], None)
    assert answer["text"].strip()


FRAMED = [
    "<b>pizza box</b>",
    "<img src=x onerror=alert(1)> pizza box",
    "<script>pizza box</script>",
    "\u202epizza box\u202c",
    "علبة pizza box",
    "🍕 pizza box 🍕",
    "pizza\tbox",
    "pizza\nbox",
    "\ufeffpizza box",
    "PIZZA BOX!!!!!",
    "“pizza box”",
    "pizza box " * 2_000,
    "pizza box. " + "and so on " * 2_000,
    "pizza box \udfff",
    "%s %d {pizza} pizza box",
]


@pytest.mark.parametrize("text", FRAMED, ids=lambda t: ascii(t)[:25])
def test_thing_among_odd_input(text: str, talk: Talk) -> None:
    answer = talk(text)
    assert "pizza_box" in goes(answer)
    assert asked(answer) == ("pizza_box", "food_origin")
    assert goes(talk("takeaway"))["pizza_box"] == "residual"


@pytest.mark.parametrize("text", UNCLEAR, ids=lambda t: ascii(t)[:25])
def test_odd_input_leaves_the_question_open(text: str, talk: Talk) -> None:
    talk("pizza box")
    answer = talk(text)
    if text == "1":
        assert goes(answer) == {"pizza_box": "residual"}
        return
    assert asked(answer) == ("pizza_box", "food_origin") or answer["kind"] == "unclear"
    assert goes(talk("takeaway")) == {"pizza_box": "residual"}


@pytest.mark.parametrize(
    "metadata",
    [
        {"district": "atlantis"},
        {"district": 7},
        {"district": ["oxmere"]},
        {"district": ""},
        {"district": "OXMERE "},
        {"district": None},
    ],
    ids=str,
)
def test_unknown_district_is_passed_over(metadata: dict[str, Any], anywhere: Talk) -> None:
    answer = anywhere("cereal boxes", **metadata)
    assert (answer["district"], asked(answer)) == (None, ("cereal_box", "district"))


@pytest.mark.parametrize("on", ["soon", "2027-02-30", 20270101, ["2027-01-01"], "", None], ids=str)
def test_bad_date_is_passed_over(on: Any, talk: Talk) -> None:
    answer = talk("newspapers", on=on)
    assert (answer["on"], answer["kind"]) == (date.today().isoformat(), "answer")


# Text messages

SAMPLE = random.Random(3).sample(sorted(i for i, x in BOOK.items.items() if not x.mark), 200)


@pytest.mark.parametrize("share", range(8))
def test_text_messages_are_short_and_plain(share: int, say: Any) -> None:
    """Two parts at most, in the GSM alphabet (3GPP TS 23.038): question, reply and answer."""
    wrong = []
    chance = random.Random(share)
    for item in SAMPLE[share::8]:
        meta = {
            "district": chance.choice(list(BOOK.districts)),
            "on": chance.choice([DAY, "2027-04-05"]),
            "channel": "sms",
        }
        sender = f"sms-{next(NUMBER)}"
        answer = say(BOOK.items[item].name, sender, **meta)
        said = [answer["text"]]
        for _ in range(4):
            if answer["kind"] != "question":
                break
            reply = str(chance.randint(1, len(answer["asks"]["options"])))
            answer = say(reply, sender, **meta)
            said.append(answer["text"])
        assert answer["kind"] in ("answer", "emergency", "cautious"), (item, said)
        for text in said:
            if sms.parts(text) > 2 or sms.outside(text):
                wrong.append((item, sms.parts(text), sms.outside(text), text))
    assert not wrong


@pytest.mark.parametrize(
    "message",
    [
        "hello",
        "thanks",
        "what is the weather",
        "sdkfj",
        "you missed my bin",
        "a didgeridoo",
        "my battery is smoking",
        "what goes in the teal bin",
        "where is the tip",
        "what can you do",
        "what is the tag on my bin",
        "what happens to general waste",
        "what changes in april",
    ],
)
def test_other_text_messages(message: str, talk: Talk) -> None:
    text = talk(message, channel="sms")["text"]
    assert sms.outside(text) == ""
    assert sms.parts(text) <= 2, text


def test_text_message_offers_numbers(talk: Talk) -> None:
    text = talk("pizza box", channel="sms")["text"]
    assert "1 From a takeaway, 2 Cooked at home" in text
    assert goes(talk("1", channel="sms")) == {"pizza_box": "residual"}


# Wording

AVERAGE = 15
LONGEST = 30
"""Words in a sentence: what public-sector plain-English practice asks for (from memory)."""


def book_texts(book: Book) -> Iterator[tuple[str, str | None]]:
    """Every text of the book that residents read, with what it belongs to."""
    for item in book.items.values():
        for table in (item.table, *item.overrides.values()):
            for part in (table, *table.rows):
                for text in (*(part.prepare or ()), part.why, part.caution):
                    yield item.id, text
            yield item.id, table.because
    for condition in book.conditions.values():
        for text in (condition.question, condition.again, condition.short):
            yield condition.id, text
        for value in condition.values.values():
            yield condition.id, value.label
    for danger in book.dangers.values():
        for text in (danger.never, danger.emergency, *danger.prepare):
            yield danger.id, text
    for sign in book.signs.values():
        yield from ((sign.id, sign.why), (sign.id, sign.caution))
    for topic in (*book.topics.values(), *book.changes.values()):
        yield from ((topic.id, topic.answer), (topic.id, topic.short))
    for stream in book.streams.values():
        yield from ((stream.id, x) for x in (stream.takes, stream.refuses, stream.becomes))
    for centre in book.centres.values():
        yield centre.id, centre.note
    yield "fallback", book.fallback.why
    for text in book.fallback.prepare:
        yield "fallback", text


def own_texts() -> Iterator[tuple[str, str]]:
    """Every sentence of the assistant's own."""
    for name, forms in yaml.safe_load(FILE.read_text(encoding="utf-8")).items():
        for form, text in forms.items():
            yield f"{name}.{form}", text


def sentences(text: str) -> list[list[str]]:
    """The words of each sentence. A placeholder counts as one word."""
    parts = re.split(r"(?<=[.!?])\s+", text)
    words = [re.findall(r"[\w'’{}/-]+", p) for p in parts]
    return [w for w in words if len(w) > 1]


@pytest.mark.parametrize(
    ("texts", "least"),
    [(list(book_texts(BOOK)), 1_000), (list(own_texts()), 50)],
    ids=["book", "own"],
)
def test_sentences_are_short(texts: list[tuple[str, str | None]], least: int) -> None:
    found = {(" ".join(s), where) for where, text in texts if text for s in sentences(text)}
    lengths = [len(s.split()) for s, _ in found]
    assert len(found) >= least
    assert sum(lengths) / len(lengths) <= AVERAGE
    long = [(where, s) for s, where in found if len(s.split()) > LONGEST]
    assert not long


@pytest.mark.parametrize("item", SAMPLE[:40])
def test_whole_answers_are_short_too(item: str, say: Any) -> None:
    """Sentences as they come out, with names and phrases filled in."""
    text = say(BOOK.items[item].name, f"plain-{item}", district="oxmere", on=DAY)["text"]
    lengths = [len(s) for s in sentences(text)]
    assert sum(lengths) / len(lengths) <= AVERAGE, text
    assert max(lengths) <= LONGEST, text
    assert "{" not in text and "None" not in text
