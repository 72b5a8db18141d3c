"""What is understood beyond names and phrases: dangers of the last thing, doubt, guesses."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

NUMBER = itertools.count()
Talk = Callable[..., dict[str, Any]]


@pytest.fixture
def talk(say: Any) -> Talk:
    """Says a message in one conversation, in Pellbrook on a fixed day."""
    sender = f"understanding-{next(NUMBER)}"

    def speak(message: str, **metadata: Any) -> dict[str, Any]:
        return dict(
            say(message, sender, **{"district": "pellbrook", "on": "2026-12-01"} | metadata)
        )

    return speak


def destinations(answer: dict[str, Any]) -> list[tuple[str | None, str | None]]:
    return [(i["item"], i["destination"]) for i in answer["items"]]


def test_sign_of_danger_fits_the_thing_talked_of(talk: Talk) -> None:
    """Brief, policy 2: a live danger comes before anything else; a hot battery is one."""
    assert talk("power bank")["kind"] == "question"
    assert talk("it's getting really hot and it's crackling")["kind"] == "emergency"


def test_same_words_are_no_danger_of_a_harmless_thing(talk: Talk) -> None:
    talk("newspapers")
    assert talk("they're hot off the press, does that matter")["kind"] != "emergency"


def test_doubtful_message_is_asked_about(talk: Talk, assistant: Any) -> None:
    """Between thresholds neither a disposal answer nor a refusal is given; a yes settles it."""
    from actions import elsewhere

    texts = ["sleeping bag ratings explained", "hot tub hire prices", "number plate rules"]
    for text in (*texts, "sim card not recognised", "foil in fencing, what is it"):
        ranked = {i["name"]: i["confidence"] for i in assistant.parse(text)["intent_ranking"]}
        if elsewhere.DOUBTFUL["named"] <= ranked.get("off_topic", 0) < elsewhere.OUTSIDE["named"]:
            break
    else:
        pytest.skip("none of these is doubtful to this model")
    answer = talk(text)
    assert (answer["kind"], answer["items"]) == ("unclear", [])
    assert "Do you want to know where this goes" in answer["text"]
    assert talk("yes")["kind"] in ("answer", "question")


@pytest.mark.parametrize("reply", ["no", "2", "something else"])
def test_offer_may_be_refused(talk: Talk, reply: str) -> None:
    talk("what goes where: a kettel and a zzqqxx")
    answer = talk(reply)
    assert answer["kind"] in ("unclear", "answer", "small_talk", "question", "cautious")


def test_word_like_a_name_is_offered(talk: Talk) -> None:
    """A strange word near a name is neither taken for it nor passed over without a word."""
    from actions.offer import offering
    from actions.state import State, Thing
    from actions.turn import Turn
    from actions.understanding import from_message
    from rules import load

    book = load()
    turn = Turn(book, State(), from_message({"text": "x"}), "pellbrook", date(2026, 12, 1))
    things = [Thing(i, book.items[i].name, "2026-12-01", "pellbrook") for i in ("candle", "kettle")]
    state, reply = offering(turn, things)
    assert (reply.kind, reply.offers) == ("unclear", ("candle", "kettle"))
    again = Turn(book, state, from_message({"text": "2"}), "pellbrook", turn.on)
    _, answer = again.reply()
    assert [a.thing.item for a in answer.items] == ["kettle"]


def test_reply_in_other_words_is_understood(talk: Talk) -> None:
    assert talk("pizza box")["asks"]["condition"] == "food_origin"
    assert destinations(talk("the lad on the moped handed it over steaming")) == [
        ("pizza_box", "residual")
    ]


def test_guess_never_makes_a_hazard_safe(talk: Talk) -> None:
    """Brief, policy 7: what is not settled is answered as if the worst were true."""
    talk("ash from the stove")
    answer = talk("oh it must be fine by now I reckon")
    assert "residual" not in [d for _, d in destinations(answer)]


def test_talk_about_the_last_answer_names_others_only_in_passing(talk: Talk) -> None:
    talk("kitchen knife")
    answer = talk("I've wrapped it in loads of card, surely that's fine in the dark grey bin")
    assert [i for i, _ in destinations(answer)] == ["knife"]


def test_another_one_of_the_same(talk: Talk) -> None:
    talk("smoke alarm")
    answer = talk("can the one in the hall go there as well")
    assert [i for i, _ in destinations(answer)] == ["smoke_alarm"]


def test_it_is_a_new_thing_when_told_so(talk: Talk) -> None:
    talk("smoke alarm")
    answer = talk("and this, it's a duvet")
    assert "duvet" in [i for i, _ in destinations(answer)]


def test_day_told_by_what_comes_first(talk: Talk) -> None:
    """Film goes in the containers stream from 31 March 2027 (brief, film and soft plastics)."""
    assert destinations(talk("bread bags")) == [("bread_bag", "shop_take_back")]
    answer = talk("crisp packets once the Easter holidays are over", on="2027-01-10")
    assert destinations(answer) == [("crisp_packet", "containers")]
