"""What a message says of a thing's state, said or denied, and of which thing."""

from __future__ import annotations

import pytest
from reading import items, told, understood

from bot.language.reader import Reader

STATED = [
    ("pizza box from a takeaway", "pizza_box", "food_origin", "takeaway"),
    ("a pizza box we cooked at home", "pizza_box", "food_origin", "home"),
    ("greasy newspaper", "newspaper", "soiling", "dirty"),
    ("newspaper with food on it", "newspaper", "soiling", "dirty"),
    ("the power bank is swollen and leaking", "power_bank", "damage", "damaged"),
    ("hairspray can empty", "aerosol", "contents", "empty"),
    ("the aerosol is nearly empty", "aerosol", "contents", "not_empty"),
    ("aerosol half full", "aerosol", "contents", "not_empty"),
    ("aerosol with nothing left in it", "aerosol", "contents", "empty"),
    ("kettle that works", "kettle", "works", "works"),
    ("jigsaw with pieces missing", "jigsaw", "complete", "incomplete"),
    ("plain greetings card", "greetings_card", "finish", "plain"),
    ("glittery birthday card", "greetings_card", "finish", "shiny"),
    ("ash is still warm", "ash", "temperature", "hot"),
    ("ash, cold for a week", "ash", "temperature", "cold"),
    ("paint tin, dried hard", "paint_tin", "paint_contents", "hard"),
    ("half full paint tin", "paint_tin", "paint_contents", "over_half"),
    ("broken mug", "mug", "usable", "broken"),
    ("mug, usable", "mug", "usable", "usable"),
    ("padded envelope with bubbles", "padded_envelope", "padding", "bubble"),
    ("sofa with its fire label", "sofa", "furniture_state", "good"),
    ("clothes, soaked", "clothes", "wearable", "spoiled"),
    ("a book that's falling apart", "book", "readable", "worn"),
    ("oil, more than a cupful", "oil", "amount", "more"),
    ("cooking oil not much", "cooking_oil", "amount", "cupful"),
    ("wrapping paper springs back", "wrapping_paper", "wrap_finish", "shiny"),
    ("GREASY NEWSPAPER", "newspaper", "soiling", "dirty"),
    ("gresy newspaper", "newspaper", "soiling", "dirty"),
    ("swolen phone battery", "phone_battery", "damage", "damaged"),
]

DENIED = [
    ("pizza box, not from a takeaway", "pizza_box", "food_origin", "home"),
    ("the newspaper isn't greasy", "newspaper", "soiling", "clean"),
    ("the newspaper isnt greasy", "newspaper", "soiling", "clean"),
    ("the newspaper isn’t greasy", "newspaper", "soiling", "clean"),
    ("newspaper, no food on it", "newspaper", "soiling", "clean"),
    ("cereal box with no food on it", "cereal_box", "soiling", "clean"),
    ("hardly greasy newspaper", "newspaper", "soiling", "clean"),
    ("the newspaper is not clean", "newspaper", "soiling", "dirty"),
    ("laptop battery that isn't swollen or leaking", "laptop_battery", "damage", "sound"),
    ("neither swollen nor leaking laptop battery", "laptop_battery", "damage", "sound"),
    ("laptop battery, not swollen, not leaking, just dead", "laptop_battery", "damage", "sound"),
    ("phone battery, no dents", "phone_battery", "damage", "sound"),
    ("hairspray can, not empty", "aerosol", "contents", "not_empty"),
    ("hairspray can never emptied", "aerosol", "contents", "not_empty"),
    ("kettle doesn't work", "kettle", "works", "broken"),
    ("kettle, it no longer works", "kettle", "works", "broken"),
    ("jigsaw with no pieces missing", "jigsaw", "complete", "complete"),
    ("jigsaw, not complete", "jigsaw", "complete", "incomplete"),
    ("greetings card with no glitter", "greetings_card", "finish", "plain"),
    ("birthday card isn't shiny", "greetings_card", "finish", "plain"),
    ("the ash isn't hot", "ash", "temperature", "cold"),
    ("ash not cold", "ash", "temperature", "hot"),
    ("mug isn't broken", "mug", "usable", "usable"),
    ("padded envelope, no bubbles", "padded_envelope", "padding", "paper"),
    ("sofa without a fire label", "sofa", "furniture_state", "poor"),
    ("clothes not worn out", "clothes", "wearable", "good"),
    ("shoes that are not wearable", "shoes", "wearable", "worn"),
    ("paperback that isn't readable", "paperback_book", "readable", "worn"),
    ("bike can't be fixed", "bike", "rideable", "scrap"),
    ("light bulb, not LED", "light_bulb", "bulb_type", "old"),
    ("christmas tree, not real", "christmas_tree", "tree_kind", "artificial"),
    ("cooking oil, no more than a cup", "cooking_oil", "amount", "cupful"),
    ("wrapping paper doesn't spring back", "wrapping_paper", "wrap_finish", "plain"),
    ("wrapping paper that does not stay scrunched", "wrapping_paper", "wrap_finish", "shiny"),
]

CONTRASTED = [
    ("laptop battery not swollen but leaking", "laptop_battery", "damage", "damaged"),
    ("laptop battery is not only swollen but leaking", "laptop_battery", "damage", "damaged"),
    ("newspaper, not greasy but wet", "newspaper", "moisture", "soaked"),
    ("newspaper, not wet but greasy", "newspaper", "soiling", "dirty"),
    ("mug, not broken, still usable", "mug", "usable", "usable"),
    ("pizza box, not home cooked, it was a takeaway", "pizza_box", "food_origin", "takeaway"),
    ("pizza box, takeaway not home cooked", "pizza_box", "food_origin", "takeaway"),
    ("kettle works but the lid is missing", "kettle", "works", "works"),
    ("not empty, half full aerosol", "aerosol", "contents", "not_empty"),
]


@pytest.mark.parametrize(("text", "item", "condition", "value"), STATED)
def test_stated(text: str, item: str, condition: str, value: str, reader: Reader) -> None:
    assert [(i, f.get(condition)) for i, f in told(reader, text)] == [(item, value)]


@pytest.mark.parametrize(("text", "item", "condition", "value"), DENIED)
def test_denied(text: str, item: str, condition: str, value: str, reader: Reader) -> None:
    assert [(i, f.get(condition)) for i, f in told(reader, text)] == [(item, value)]


@pytest.mark.parametrize(("text", "item", "condition", "value"), CONTRASTED)
def test_what_is_said_counts_before_what_is_denied(
    text: str, item: str, condition: str, value: str, reader: Reader
) -> None:
    assert (item, value) in [(i, f.get(condition)) for i, f in told(reader, text)]


# Each of these sends a damaged battery to the recycling centre as a sound one: "not swollen" is a
# wording of the book for "sound", so that it counts as said and not as denied.
SAID_BESIDE_DENIED = [
    "leaking laptop battery, not swollen",
    "laptop battery leaking, not swollen",
    "power bank, swollen, not leaking",
    "dented power bank, not leaking",
    "power bank that is dented but not swollen",
    "my laptop battery is leaking it is not swollen",
    "the phone battery is bulging but no leaks and not dented",
    "e-bike battery, swollen but not leaking",
]


@pytest.mark.parametrize("text", SAID_BESIDE_DENIED)
def test_one_sign_of_damage_is_enough(text: str, reader: Reader) -> None:
    assert [f.get("damage") for _, f in told(reader, text)] == ["damaged"]


@pytest.mark.parametrize(
    ("text", "item"),
    [
        ("jam jar without the lid", "glass_jar"),
        ("jam jar without a lid", "glass_jar"),
        ("jam jar, no lid", "glass_jar"),
        ("jam jar with no lid on", "glass_jar"),
        ("milk bottle minus the top", "milk_bottle"),
        ("plastic tub with no label", "margarine_tub"),
    ],
)
def test_what_is_missing_is_nothing_asked_about(text: str, item: str, reader: Reader) -> None:
    assert items(reader, text) == [item]


SEVERAL = [
    (
        "a broken mug and a usable plate",
        [("mug", "usable", "broken"), ("plate", "usable", "usable")],
    ),
    (
        "the mug is fine but the plate is broken",
        [("mug", "usable", "usable"), ("plate", "usable", "broken")],
    ),
    (
        "greasy newspaper and a clean cereal box",
        [("newspaper", "soiling", "dirty"), ("cereal_box", "soiling", "clean")],
    ),
    (
        "wet newspaper and dry magazine",
        [("newspaper", "moisture", "soaked"), ("magazine", "moisture", "dry")],
    ),
    (
        "empty aerosol and a paint tin that is half full",
        [("aerosol", "contents", "empty"), ("paint_tin", "paint_contents", "over_half")],
    ),
    (
        "hairspray, empty, and paint tin, dried hard",
        [("aerosol", "contents", "empty"), ("paint_tin", "paint_contents", "hard")],
    ),
    (
        "a working kettle and a broken toaster",
        [("kettle", "works", "works"), ("toaster", "works", "broken")],
    ),
    (
        "kettle (works) and toaster (broken)",
        [("kettle", "works", "works"), ("toaster", "works", "broken")],
    ),
    (
        "swollen phone battery and a sound laptop battery",
        [("phone_battery", "damage", "damaged"), ("laptop_battery", "damage", "sound")],
    ),
    (
        "a pizza box from a takeaway and a cereal box",
        [("pizza_box", "food_origin", "takeaway"), ("cereal_box", "food_origin", None)],
    ),
    (
        "a cereal box and a pizza box from a takeaway",
        [("cereal_box", "food_origin", None), ("pizza_box", "food_origin", "takeaway")],
    ),
    (
        "pizza box and fried chicken box, both takeaway",
        [("pizza_box", "food_origin", "takeaway"), ("card_food_box", "food_origin", "takeaway")],
    ),
]


@pytest.mark.parametrize(("text", "expected"), SEVERAL, ids=[t for t, _ in SEVERAL])
def test_goes_to_the_right_thing_of_several(
    text: str, expected: list[tuple[str, str, str | None]], reader: Reader
) -> None:
    found = told(reader, text)
    assert [i for i, _ in found] == [i for i, _, _ in expected]
    for (_, facts), (_, condition, value) in zip(found, expected, strict=True):
        assert facts.get(condition) == value


# What stands behind a comma is given to every thing before it that asks about it, also to one of
# which the opposite was said.
SAID_OF_THE_LAST = [
    ("phone battery, swollen, and a laptop battery, fine", ["damaged", "sound"], "damage"),
    ("swollen phone battery and a laptop battery, not swollen", ["damaged", "sound"], "damage"),
    ("a swollen phone battery, a power bank, sound", ["damaged", "sound"], "damage"),
    ("half full aerosol and a deodorant, empty", ["not_empty", "empty"], "contents"),
    ("broken mug and a plate, usable", ["broken", "usable"], "usable"),
]


@pytest.mark.parametrize(("text", "values", "condition"), SAID_OF_THE_LAST)
def test_last_condition_is_of_the_last_thing(
    text: str, values: list[str], condition: str, reader: Reader
) -> None:
    assert [f.get(condition) for _, f in told(reader, text)] == values


def test_material_in_a_name_is_no_second_thing(reader: Reader) -> None:
    assert items(reader, "a wooden coat hanger and a plastic tray") == [
        "metal_or_wood_hanger",
        "meat_tray",
    ]
    assert items(reader, "a vase, glass") == ["vase"]


@pytest.mark.parametrize(
    ("text", "destination"),
    [
        ("no shop near me takes them", "shop_take_back"),
        ("the shop won't take it", "shop_take_back"),
        ("I don't have a garden bin", "garden"),
        ("I haven't got a garden bin", "garden"),
    ],
)
def test_what_will_not_do(text: str, destination: str, reader: Reader) -> None:
    assert understood(reader, text).declines == (destination,)
