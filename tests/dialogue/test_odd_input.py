"""What no resident would type, or only by mistake."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from talking import Talk, asked, goes

# Odd input

UNCLEAR = [
    "...",
    "?",
    " ",
    "!!!",
    "-",
    "0",
    "1",
    "a",
    "🍕",
    "📦📦",
    "👩‍👩‍👧‍👦",
    "علبة بيتزا",
    "比萨盒",
    "\u202e\u202e",
    "\x00\x01",
    "\u200b",
    "x" * 20_000,
    "🍕" * 20_000,
    "sdkfj sldkf",
]


@pytest.mark.parametrize("text", UNCLEAR, ids=lambda t: ascii(t)[:25])
def test_nothing_to_understand(text: str, talk: Talk) -> None:
    answer = talk(text)
    assert (answer["kind"], answer["items"], answer["asks"]) == ("unclear", [], None)
    assert answer["text"].strip()


FRAMED = [
    "<b>pizza box</b>",
    "<img src=x onerror=alert(1)> pizza box",
    "<script>pizza box</script>",
    "\u202epizza box\u202c",
    "علبة pizza box",
    "🍕 pizza box 🍕",
    "pizza\tbox",
    "pizza\nbox",
    "\ufeffpizza box",
    "PIZZA BOX!!!!!",
    "“pizza box”",
    "pizza box " * 2_000,
    "pizza box. " + "and so on " * 2_000,
    "pizza box \udfff",
    "%s %d {pizza} pizza box",
]


@pytest.mark.parametrize("text", FRAMED, ids=lambda t: ascii(t)[:25])
def test_thing_among_odd_input(text: str, talk: Talk) -> None:
    answer = talk(text)
    assert "pizza_box" in goes(answer)
    assert asked(answer) == ("pizza_box", "food_origin")
    assert goes(talk("takeaway"))["pizza_box"] == "residual"


@pytest.mark.parametrize("text", UNCLEAR, ids=lambda t: ascii(t)[:25])
def test_odd_input_leaves_the_question_open(text: str, talk: Talk) -> None:
    talk("pizza box")
    answer = talk(text)
    if text == "1":
        assert goes(answer) == {"pizza_box": "residual"}
        return
    assert asked(answer) == ("pizza_box", "food_origin") or answer["kind"] == "unclear"
    assert goes(talk("takeaway")) == {"pizza_box": "residual"}


@pytest.mark.parametrize(
    "metadata",
    [
        {"district": "atlantis"},
        {"district": 7},
        {"district": ["oxmere"]},
        {"district": ""},
        {"district": "OXMERE "},
        {"district": None},
    ],
    ids=str,
)
def test_unknown_district_is_passed_over(metadata: dict[str, Any], anywhere: Talk) -> None:
    answer = anywhere("cereal boxes", **metadata)
    assert (answer["district"], asked(answer)) == (None, ("cereal_box", "district"))


@pytest.mark.parametrize("on", ["soon", "2027-02-30", 20270101, ["2027-01-01"], "", None], ids=str)
def test_bad_date_is_passed_over(on: Any, talk: Talk) -> None:
    answer = talk("newspapers", on=on)
    assert (answer["on"], answer["kind"]) == (date.today().isoformat(), "answer")
