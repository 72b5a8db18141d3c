"""Names beside the one that is asked about: its parts, what came in it, other kinds of it."""

from __future__ import annotations

import pytest
from reading import dangers, items, reported, told

from bot.language.reader import Reader


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("we bought a fan, where does the box it came in go", ["box"]),
        ("the fan and the box it came in", ["fan", "box"]),
        ("the pouches the cat food comes in", ["pet_food_pouch"]),
        ("crisp packets and the plastic bag the loaf comes in", ["crisp_packet", "bread_bag"]),
        ("ready meal: sleeve, plastic tray and film lid", ["card_sleeve", "meat_tray", "film_lid"]),
        ("an old pram frame, the wheels have come off", ["baby_gear"]),
        ("wardrobe, door hanging off", ["wardrobe"]),
        ("a wardrobe and a door", ["wardrobe", "door"]),
        ("kettle, mug and a jug", ["kettle", "mug", "jug"]),
        ("not the plastic egg box, the cardboard one", ["egg_box_card"]),
        ("not the plastic tub, the cardboard one", ["card_tub"]),
        ("egg box cardboard one", ["egg_box"]),
        ("artificial tree, tinsel, xmas lights", ["artificial_tree", "tinsel", "fairy_lights"]),
        ("hairspray cans", ["aerosol"]),
        ("a sponge and a dried-up pen", ["sponge", "pen"]),
        ("dirty shoes and worn out slippers", ["shoes", "shoes"]),
    ],
)
def test_what_is_asked(text: str, asked: list[str], reader: Reader) -> None:
    found = items(reader, text)
    assert [i for i in found if i in asked] == asked
    assert set(found) <= set(asked)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("padded envelope, paper inside rather than bubbles", "paper"),
        ("padded envelope, bubbles inside instead of paper", "bubble"),
    ],
)
def test_what_is_said_instead(text: str, value: str, reader: Reader) -> None:
    assert told(reader, text)[0][1]["padding"] == value


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("two aerosols, one is empty, the other half full", ["empty", "not_empty"]),
        ("aerosols, mix of empty and half full", ["empty", "not_empty"]),
        ("an aerosol, nearly empty", ["not_empty"]),
        ("an aerosol, empty", ["empty"]),
        ("two hairspray cans, one is empty, the other half full", ["empty", "not_empty"]),
    ],
)
def test_several_of_one_kind_are_told_apart(text: str, values: list[str], reader: Reader) -> None:
    assert [facts["contents"] for _, facts in told(reader, text)] == values


@pytest.mark.parametrize(
    ("text", "live"),
    [
        ("they won't take my bin, it has smoke coming out", True),
        ("they won't take my bin it's got smoke coming out", True),
        ("there is no smoke coming out of it", False),
        ("smoke damaged curtains", False),
    ],
)
def test_a_denial_ends_with_its_clause(text: str, live: bool, reader: Reader) -> None:
    assert bool(dangers(reader, text)) == live


def test_big_things_are_not_too_big(reader: Reader) -> None:
    facts = {e["role"] for e in reported(reader, "a duvet with a big rip") if e["entity"] == "fact"}
    assert "fits" not in facts
