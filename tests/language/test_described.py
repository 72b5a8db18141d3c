"""Things described for want of a name; what is only mentioned is no unknown thing."""

from __future__ import annotations

import pytest
from reading import items, reported, told

from bot.language.reader import Reader

DESCRIBED = [
    "the thing you whisk eggs with",
    "doofer for cutting pizza",
    "stuff that kills weeds",
    "that contraption my dad keeps his newspapers on",
]


@pytest.mark.parametrize("text", DESCRIBED)
def test_names_inside_a_description_are_not_asked_about(text: str, reader: Reader) -> None:
    assert items(reader, text) == []
    assert "described" in {e["value"] for e in reported(reader, text) if e["entity"] == "manner"}


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("a jam jar and the thing you whisk eggs with", ["glass_jar"]),
        ("the thing you whisk eggs with and a jam jar", ["glass_jar"]),
    ],
)
def test_names_beside_it_are(text: str, asked: list[str], reader: Reader) -> None:
    assert items(reader, text) == asked


def test_a_hazard_within_it_is(reader: Reader) -> None:
    (found,) = items(reader, "the thing you charge the laptop battery with")
    assert reader.context.lexicon.book.items[found].hazard


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("the thing I want to get rid of is a kettle", ["kettle"]),
        ("the stuff I need to throw away is old curtains", ["curtains"]),
        ("I have some stuff including curtains and towels", ["curtains", "towels"]),
    ],
)
def test_what_it_is_after_all_is_asked_about(text: str, asked: list[str], reader: Reader) -> None:
    found = items(reader, text)
    assert len(found) == len(asked) and found[0] == asked[0]


@pytest.mark.parametrize(
    "text",
    ["one thing I forgot: jam jars", "the same thing for jam jars?", "things like jam jars"],
)
def test_a_thing_may_be_no_description(text: str, reader: Reader) -> None:
    assert items(reader, text) == ["glass_jar"]


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("goose fat, not even half a cup", "cupful"),
        ("goose fat, half a cup", "cupful"),
        ("goose fat, more than a cup", "more"),
    ],
)
def test_not_even_an_amount_is_less_than_it(text: str, amount: str, reader: Reader) -> None:
    (facts,) = [facts for item, facts in told(reader, text) if item == "cooking_oil"]
    assert facts.get("amount") == amount


@pytest.mark.parametrize(
    ("text", "word"),
    [("no", "plain_no"), ("Nope.", "plain_no"), ("yeah", "plain_yes"), ("yes yes", "plain_yes")],
)
def test_bare_yes_and_no(text: str, word: str, reader: Reader) -> None:
    assert word in {e["value"] for e in reported(reader, text) if e["entity"] == "manner"}
    assert word not in {e["value"] for e in reported(reader, f"{text} jam jar")}
