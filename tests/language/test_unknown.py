"""Things the rules do not know are found and read back as they were named."""

from __future__ import annotations

from datetime import date

import pytest
from reading import understood

from actions.things import unknown_things
from bot.language.reader import Reader

SAID = [
    ("a theremin", "a theremin"),
    ("where does my didgeridoo go", "my didgeridoo"),
    ("what about a didgeridoo", "a didgeridoo"),
    ("theremins", "theremins"),
    ("which bin for the old butter churn", "the old butter churn"),
    ("my astrolabe", "my astrolabe"),
    ("a thingummy", "a thingummy"),
    ("where does the zither go", "the zither"),
    ("two didgeridoos", "two didgeridoos"),
    ("I want to throw away my heirloom", "my heirloom"),
    ("where does a weathervane go", "a weathervane"),
    ("what bin for dulcimers", "dulcimers"),
    ("Where does THE ZITHER go", "THE ZITHER"),
    ("where does an oboe reed go?", "an oboe reed"),
    ("where does the old theremin stand go", "the old theremin stand"),
]


@pytest.mark.parametrize(("text", "said"), SAID)
def test_found_with_its_article(text: str, said: str, reader: Reader) -> None:
    assert [n.said for n in understood(reader, text).unknown] == [said]


@pytest.mark.parametrize(("text", "said"), SAID)
def test_read_back_as_named(text: str, said: str, reader: Reader) -> None:
    u = understood(reader, text)
    (thing,) = unknown_things(u, "pellbrook", date(2026, 12, 1))
    assert thing.item is None
    assert thing.said == said
    assert thing.said in text


def test_in_a_list_with_known_things(reader: Reader) -> None:
    u = understood(reader, "jam jars and a theremin")
    assert [n.item for n in u.things] == ["glass_jar"]
    assert [(n.said, n.alone, n.article) for n in u.unknown] == [("a theremin", True, True)]


def test_several(reader: Reader) -> None:
    u = understood(reader, "a sextant, an abacus and the theremin")
    assert [n.said for n in u.unknown] == ["a sextant", "an abacus", "the theremin"]


@pytest.mark.parametrize("text", ["sdkfj sldkf", "qwrtzp", "a xkcdq"])
def test_mashed_keys_are_no_english(text: str, reader: Reader) -> None:
    assert [n.english for n in understood(reader, text).unknown] == [False]


@pytest.mark.parametrize(
    "text",
    [
        "where does this go",
        "which bin does it go in",
        "please help me",
        "pizza box",
        "jam jars and newspapers",
        "what do I do with a broken kettle",
        "...",
        "?",
        "12 34",
        "🍕",
    ],
)
def test_nothing_unknown(text: str, reader: Reader) -> None:
    assert understood(reader, text).unknown == ()


@pytest.mark.parametrize(
    ("text", "sign"),
    [
        ("a bottle of some corrosive stuff with no label", "corrosive"),
        ("a corrosive theremin", "corrosive"),
        ("a theremin with a radioactive symbol on it", "radioactive"),
        ("an explosive theremin", "explosive"),
        ("something toxic", "poisonous"),
        ("a flammable thingummy", "flammable"),
        ("a thingummy that is highly flamable", "flammable"),
    ],
)
def test_hazard_sign_in_a_description(text: str, sign: str, reader: Reader) -> None:
    assert sign in [s for s, _ in understood(reader, text).signs]


@pytest.mark.parametrize("text", ["a theremin that is not corrosive", "a non toxic theremin"])
def test_hazard_sign_denied(text: str, reader: Reader) -> None:
    assert understood(reader, text).signs == ()
