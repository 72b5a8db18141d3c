"""Spelling by likely slips, what is asked or only mentioned, guessed replies, relative days."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil.easter import easter
from reading import items, reported

from actions.turn import day_named
from bot.components import marked
from bot.language.reader import Reader
from bot.language.spelling import cost, reach


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("shrded", "shredded"),
        ("papr", "paper"),
        ("fone", "phone"),
        ("rcpts", "receipt"),
        ("msng", "missing"),
        ("emulshun", "emulsion"),
        ("dubet", "duvet"),
        ("kettel", "kettle"),
    ],
)
def test_slips_of_phone_and_ear(typed: str, meant: str, reader: Reader) -> None:
    assert reader.context.lexicon.speller.correct(typed) == meant


@pytest.mark.parametrize("word", ["didgeridoo", "flumpwangler", "zibbet", "dorset"])
def test_strange_words_stay_as_they_are(word: str, reader: Reader) -> None:
    assert reader.context.lexicon.speller.correct(word) == word


def test_dropped_vowels_cost_less_than_other_letters() -> None:
    assert cost("pcket", "packet") < cost("pacet", "packet") <= reach("pacet")
    assert cost("kettle", "kettle") == 0


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("bred bag", ["bread_bag"]),
        ("rapping paper", ["wrapping_paper"]),
        ("BBQ, disposable", ["disposable_barbecue"]),
        ("the plastic bag the loaf came in", ["bread_bag"]),
        ("the box the washing powder came in", ["cleaning_product_box"]),
        ("petrol station receipts", ["till_receipt"]),
        ("plastic toy grenade", ["toy"]),
        ("can", ["metal_can"]),
        ("a can", ["metal_can"]),
        ("can I ask something", []),
        ("a torch, batteries out", ["torch"]),
        ("not in the cardboard bin, the newspaper", ["newspaper"]),
        ("stick it in with the newspapers", ["newspaper"]),
    ],
)
def test_the_thing_meant(text: str, found: list[str], reader: Reader) -> None:
    assert items(reader, text) == found


def guesses(reader: Reader, text: str) -> dict[str, str]:
    return {e["role"]: e["value"] for e in reported(reader, text) if e["entity"] == "guess"}


@pytest.mark.parametrize(
    ("text", "condition", "value"),
    [
        ("the soles are hanging off them", "wearable", "worn"),
        ("the lad on the moped handed it over steaming", "food_origin", "takeaway"),
        ("every page is there and you can read it", "readable", "readable"),
    ],
)
def test_reply_without_any_phrase_is_guessed(
    text: str, condition: str, value: str, reader: Reader
) -> None:
    assert guesses(reader, text).get(condition) == value


@pytest.mark.parametrize("text", ["no idea, sorry", "you'd have to ask the wife", "not sure"])
def test_not_knowing_is_no_guess(text: str, reader: Reader) -> None:
    assert guesses(reader, text) == {}


def test_marked_example_is_parsed() -> None:
    text, spans = marked.parsed("a [vase](thing), it's [glass](aside)")
    assert text == "a vase, it's glass"
    assert [(text[s:e], kind) for s, e, kind in spans] == [("vase", "thing"), ("glass", "aside")]


@pytest.mark.parametrize("year", range(2026, 2040))
def test_after_easter_is_after_easter(year: int) -> None:
    """Easter by python-dateutil, which reckons it as the Book of Common Prayer does."""
    day = day_named("easter", date(year, 1, 1))
    assert easter(year) < day <= date(year, 5, 31)


def test_other_relative_days() -> None:
    on = date(2026, 12, 31)
    assert day_named("tomorrow", on) == date(2027, 1, 1)
    assert day_named("next-month", on) == date(2027, 1, 1)
    assert day_named("next-year", on) == date(2027, 1, 1)
    assert day_named("summer", on) == date(2027, 6, 1)
    assert day_named("next-week", on) == date(2027, 1, 7)


@pytest.mark.parametrize(
    ("text", "item"),
    [
        ("the plastic it came in", "plastic_packaging"),
        ("the foil it came in", "kitchen_foil"),
        ("the wrapper they came in", "plastic_film"),
    ],
)
def test_a_name_behind_an_article_is_no_verb(text: str, item: str, reader: Reader) -> None:
    assert items(reader, text) == [item]


def test_a_name_may_be_a_verb(reader: Reader) -> None:
    assert items(reader, "foil it, then bin it") == []
