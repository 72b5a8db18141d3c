"""What is reported of a message lies where it was typed, whatever is typed."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reading import items, reported

from actions.understanding import from_message
from bot.language.reader import LONGEST, Reader
from bot.language.report import entities, masked
from rules import load

BOOK = load()
NAMES = sorted({n for i in BOOK.items.values() for n in (i.name, *i.also)})
SAYS = sorted({s for c in BOOK.conditions.values() for v in c.values.values() for s in v.says})
LIVE = sorted(BOOK.live_signs)
PLACES = sorted({n for d in BOOK.districts.values() for n in (d.name, *d.also)})
BINS = sorted({n for d in BOOK.districts.values() for c in d.containers for n in (c.name, *c.also)})
FRAMES = ["where does", "a", "the", "my old", "and", "not", "isn't", "can I", "which bin", "?", ","]
DAYS = ["in april 2027", "2027-02-10", "on 3 december", "10/02/2027"]
NOISE = st.one_of(
    st.text(max_size=12),
    st.text(alphabet="abcdefghijklmnopqrstuvwxyz'’-", max_size=10),
    st.sampled_from(
        ["\x00", "\u202e", "🍕", "ﬁ", "ŉ", "İ", "\ud800", "e\u0301", "½", "\u200b", "ß"]
    ),
)
WORDS = st.one_of(
    *(st.sampled_from(x) for x in (NAMES, SAYS, LIVE, PLACES, BINS, FRAMES, DAYS)), NOISE
)
GLUE = st.sampled_from([" ", "  ", "\n", ", ", " - ", "/", "+", "\t", ""])


@st.composite
def messages(draw: Callable[..., str]) -> str:
    parts = draw(st.lists(WORDS, min_size=0, max_size=9))
    return "".join(p + draw(GLUE) for p in parts)


SOUND = settings(
    max_examples=250, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True
)


@SOUND
@given(text=messages())
def test_entities_lie_where_they_were_typed(reader: Reader, text: str) -> None:
    for entity in reported(reader, text):
        start, end = entity["start"], entity["end"]
        assert 0 <= start <= end <= len(text), entity
        if "said" in entity:
            assert start < end
            assert text[start:end] == entity["said"], entity
            assert entity["said"].strip()
        if entity["entity"] == "unknown":
            assert entity["value"] in entity["said"]


@SOUND
@given(text=messages())
def test_masking_keeps_order_and_places(reader: Reader, text: str) -> None:
    parts = masked(reader.read(text), reader.context)
    assert all(word and 0 <= start < end <= len(text) for word, start, end in parts)
    starts = [start for _, start, _ in parts]
    assert starts == sorted(starts)


@SOUND
@given(text=messages())
def test_the_dialogue_can_take_it_in(reader: Reader, text: str) -> None:
    """The groups of facts exist, ids are the book's, and all of it can be written as JSON."""
    found = reported(reader, text)
    json.dumps(found)
    groups = {e["group"] for e in found if e["entity"] == "item"}
    for entity in found:
        if entity["entity"] == "fact":
            assert set(filter(None, entity["group"].split(","))) <= groups
            assert entity["value"] in BOOK.conditions[entity["role"]].values
        if entity["entity"] in ("item", "mark"):
            assert entity["value"] in BOOK.items
    u = from_message({"text": text, "entities": found})
    assert {n.item for n in u.things} <= set(BOOK.items)


@SOUND
@given(text=st.text(max_size=300))
def test_any_text_is_read(reader: Reader, text: str) -> None:
    found = reader.read(text)
    masked(found, reader.context)
    entities(found, reader.context, text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "\n\t",
        "\x00",
        "".join(map(chr, range(32))),
        "\x7f\x80\x9f",
        "...",
        "?",
        "🍕📦🔋",
        "👩‍👩‍👧‍👦",
        "🏴󠁧󠁢󠁥󠁮󠁧󠁿",
        "\u202e" * 50,
        "علبة بيتزا",
        "קופסת פיצה",
        "比萨盒",
        "\ud800",
        "\udfff\ud800",
        "a\ud800b",
        "Z͑ͫ̓ͪ̂ͫ̽͏̴̙̤̞͉͚̯̞̠͍A̴̵̜̰͔ͫ͗͢",
        "<b>&amp;</b>",
        "{}[]()\\",
        "'" * 500,
        "-" * 500,
        "1" * 500,
        "so " * 1_000,
        "not " * 500,
    ],
    ids=lambda t: ascii(t)[:25],
)
def test_nothing_typed_breaks_it(text: str, reader: Reader) -> None:
    found = reader.read(text)
    assert found.of("item") == []
    masked(found, reader.context)
    for entity in entities(found, reader.context, text):
        assert text[entity["start"] : entity["end"]] == entity.get(
            "said", text[entity["start"] : entity["end"]]
        )


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("\x00", "\x00"),
        ("\u202e", "\u202c"),
        ("🍕", "🍕"),
        ("علبة ", ""),
        ("", " بيتزا"),
        ("\ud800 ", " \udfff"),
        ("<b>", "</b>"),
        ("\ufeff", ""),
        ("½ ŉ ﬁ ", " İ"),
        ("e\u0301 " * 20, ""),
    ],
    ids=ascii,
)
def test_name_among_odd_characters(before: str, after: str, reader: Reader) -> None:
    text = f"{before}pizza box{after}"
    (item,) = [e for e in reported(reader, text) if e["entity"] == "item"]
    assert (item["value"], item["said"]) == ("pizza_box", "pizza box")
    assert text[item["start"] : item["end"]] == "pizza box"


def test_long_message(reader: Reader) -> None:
    """Of 20,000 characters the first part is read; what comes late is passed over."""
    early = "pizza box, takeaway. " + "and so on " * 2_000
    assert len(early) > 20_000
    assert items(reader, early) == ["pizza_box"]
    late = "and so on " * 2_000 + "pizza box"
    assert items(reader, late) == []
    assert items(reader, "x" * LONGEST + " pizza box") == []
    assert items(reader, "x" * (LONGEST - 10) + " pizza box and so on") == ["pizza_box"]
    assert set(items(reader, "pizza box " * 2_000)) == {"pizza_box"}


@pytest.mark.parametrize(
    "text", ["x" * 20_000, "pizza" * 4_000, "a" * 1_999 + " box", "🍕" * 20_000, "notnot" * 3_000]
)
@pytest.mark.timeout(20)
def test_long_word_takes_no_time(text: str, reader: Reader) -> None:
    assert items(reader, text) in ([], ["box"])


def test_same_message_same_report(reader: Reader) -> None:
    text = "a gresy pizza box, a theremin and 2 jam jars in oxmere from april"
    first = reported(reader, text)
    reader.read("battery smoking " * 20)
    assert reported(reader, text) == first
