"""Which district and which day an answer is for."""

from __future__ import annotations

import pytest
from talking import BOOK, DAY, Talk, asked, goes

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
