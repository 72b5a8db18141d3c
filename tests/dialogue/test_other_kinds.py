"""What is said after an answer in a word or two, and what a message tells of where one lives."""

from __future__ import annotations

import pytest
from talking import Talk, goes


@pytest.mark.parametrize(
    ("first", "then", "place"),
    [
        ("needle", "knitting", {"sewing_needle": "recycling_centre"}),
        ("a bottle", "glass", {"glass_bottle": "containers"}),
        ("box", "crackers came in it", {"shop_food_box": "paper_card"}),
    ],
)
def test_another_kind_of_it(first: str, then: str, place: dict[str, str], talk: Talk) -> None:
    talk(first)
    assert goes(talk(then)) == place


def test_state_of_the_last_names_another_thing_in_passing(talk: Talk) -> None:
    assert goes(talk("paper bag")) == {"paper_bag": "paper_card"}
    assert goes(talk("it's greasy from doughnuts")) == {"paper_bag": "residual"}


def test_two_of_one_kind(talk: Talk) -> None:
    answer = talk("two hairspray cans, one is empty, the other half full")
    places = [i["destination"] for i in answer["items"]]
    assert (answer["kind"], places) == ("answer", ["containers", "recycling_centre"])


def test_district_told_beside_a_thing_is_remembered_if_none_is_known(anywhere: Talk) -> None:
    anywhere("We're in Oxmere. Do jam jars go in with the paper?")
    answer = anywhere("and newspapers")
    assert (answer["district"], goes(answer)) == ("oxmere", {"newspaper": "mixed_recycling"})
