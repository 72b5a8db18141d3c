"""What is understood beyond names and phrases: dangers of the last thing, doubt, guesses."""

from __future__ import annotations

from datetime import date

import pytest
from talking import BOOK, DAY, Talk, goes

from actions.elsewhere import DOUBTFUL, OUTSIDE
from actions.offer import offering
from actions.reply import Reply
from actions.state import State, Thing
from actions.turn import Turn
from actions.understanding import from_message

ON = date.fromisoformat(DAY)


EMPTY = State()


def turn(likely: float, state: State = EMPTY, **more: object) -> Turn:
    """A message that names a kettle and is off topic with some likelihood."""
    message = {
        "text": "kettle something",
        "intent": {"name": "off_topic", "confidence": likely},
        "intent_ranking": [{"name": "off_topic", "confidence": likely}],
        "entities": [{"entity": "item", "value": "kettle", "said": "kettle", "start": 0, "end": 6}],
        **more,
    }
    return Turn(BOOK, state, from_message(message), "pellbrook", ON)


def kind(likely: float) -> Reply:
    return turn(likely).reply()[1]


def test_below_doubt_it_is_answered_above_it_is_outside() -> None:
    assert kind(DOUBTFUL["named"] - 0.01).kind == "answer"
    assert kind(DOUBTFUL["named"]).kind == kind(OUTSIDE["named"] - 0.01).kind == "unclear"
    assert kind(DOUBTFUL["named"]).offers == ("kettle",)
    assert kind(OUTSIDE["named"]).kind == "referral"


@pytest.mark.parametrize(
    ("text", "intent", "expected"),
    [
        ("yes", "affirm", ("answer", ["kettle"])),
        ("1", "gibberish", ("answer", ["kettle"])),
        ("Kettle", "ask_destination", ("answer", ["kettle"])),
        ("no", "deny", ("unclear", [])),
        ("2", "gibberish", ("unclear", [])),
        ("Something else", "vague_reply", ("unclear", [])),
    ],
)
def test_answer_to_an_offer(text: str, intent: str, expected: tuple[str, list[str]]) -> None:
    state, _ = turn(DOUBTFUL["named"]).reply()
    chosen = {"name": intent, "confidence": 0.9}
    reply = turn(0.0, state, text=text, intent=chosen, intent_ranking=[chosen], entities=[])
    after, answer = reply.reply()
    assert (answer.kind, [a.thing.item for a in answer.items]) == expected
    assert after.offered == ()


def test_of_several_offered_the_number_chooses() -> None:
    things = [Thing(i, BOOK.items[i].name, DAY, "pellbrook") for i in ("candle", "kettle")]
    state, reply = offering(turn(0.0), things)
    assert (reply.kind, reply.offers) == ("unclear", ("candle", "kettle"))
    _, answer = turn(0.0, state, text="2", entities=[]).reply()
    assert [a.thing.item for a in answer.items] == ["kettle"]


def test_sign_of_danger_fits_the_thing_talked_of(talk: Talk) -> None:
    """Brief, policy 2: a live danger comes before anything else; a hot battery is one."""
    assert talk("power bank")["kind"] == "question"
    assert talk("it's getting really hot and it's crackling")["kind"] == "emergency"


def test_same_words_are_no_danger_of_a_harmless_thing(talk: Talk) -> None:
    talk("newspapers")
    assert talk("they're hot off the press, does that matter")["kind"] != "emergency"


def test_reply_in_other_words_is_understood(talk: Talk) -> None:
    assert talk("pizza box")["asks"]["condition"] == "food_origin"
    assert goes(talk("a chap in a helmet brought it round piping hot")) == {"pizza_box": "residual"}


@pytest.mark.parametrize(
    "reply", ["oh it must be fine by now I reckon", "probably", "should be alright I think"]
)
def test_hedged_reply_never_makes_a_hazard_safe(reply: str, talk: Talk) -> None:
    """Brief, policy 7: what is not settled is answered as if the worst were true."""
    talk("ash from the stove")
    assert "residual" not in goes(talk(reply)).values()


@pytest.mark.parametrize(
    ("thing", "more"),
    [
        ("kitchen knife", "it's rolled up in thick card now, so that can go in the bin surely"),
        ("smoke alarm", "there's another one in the kitchen, same again?"),
        ("duvet", "would it go in if I tied it with string"),
    ],
)
def test_more_about_the_last_thing_names_others_in_passing(
    thing: str, more: str, talk: Talk
) -> None:
    first = list(goes(talk(thing)))
    assert list(goes(talk(more))) == first


def test_it_is_a_new_thing_when_told_so(talk: Talk) -> None:
    talk("smoke alarm")
    assert list(goes(talk("and this, it's a duvet"))) == ["duvet"]


def test_day_told_by_what_comes_first(talk: Talk) -> None:
    """Film goes in the containers stream from 31 March 2027 (brief, film and soft plastics)."""
    assert goes(talk("bread bags")) == {"bread_bag": "shop_take_back"}
    answer = talk("where do bread bags go after easter", on="2027-01-10")
    assert goes(answer) == {"bread_bag": "containers"}


# What is described, and hazards in a state


@pytest.mark.parametrize(
    "description", ["thing you whisk eggs with", "the ceiling thing that shrieks when toast burns"]
)
def test_a_description_is_asked_about_and_sent_nowhere(talk: Talk, description: str) -> None:
    answer = talk(description)
    assert (answer["kind"], answer["items"]) == ("unclear", [])


@pytest.mark.parametrize(
    ("message", "place"),
    [
        ("syringe lying on the pavement outside the primary school", "specialist"),
        ("vape, tip is dented and it is leaking", "specialist"),
    ],
)
def test_a_hazard_in_a_state_its_rule_knows_is_answered(
    talk: Talk, message: str, place: str
) -> None:
    assert list(goes(talk(message)).values()) == [place]


def test_what_it_came_in_is_another_thing(talk: Talk) -> None:
    talk("magazine")
    assert goes(talk("the plastic it came in")) == {"plastic_packaging": None}
