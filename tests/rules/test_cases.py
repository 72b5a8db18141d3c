"""The officer's single examples: what they find, and what is said of a line that is none."""

from __future__ import annotations

import pytest

from rules.cases import check_cases

GOOD = "{item: pizza_box, facts: {food_origin: home}, district: oxmere, on: 2026-12-01, %s}"
ASKS = "{item: pizza_box, facts: {}, district: oxmere, on: 2026-12-01, %s}"


def told(demo, line: str) -> list[str]:
    text = f"# how\ncases:\n  - {GOOD % 'destination: mixed_recycling'}\n  - {line}\n"
    count, found = check_cases(demo, {"examples/x.yml": text})
    assert count == 2
    assert all((f.place.file, f.place.line) == ("examples/x.yml", 4) for f in found)
    assert all(f.severity == "error" and f.cure for f in found)
    return [f.what for f in found]


@pytest.mark.parametrize(
    "line", [GOOD % "destination: mixed_recycling", ASKS % "asks: food_origin"]
)
def test_case_that_holds(demo, line):
    assert told(demo, line) == []


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (
            GOOD % "destination: residual",
            "'pizza_box' in oxmere on 2026-12-01 should give residual, and gives mixed_recycling",
        ),
        (
            ASKS % "destination: residual",
            "'pizza_box' in oxmere on 2026-12-01 should give residual, "
            "and gives a question (food_origin)",
        ),
        (
            GOOD % "asks: food_origin",
            "'pizza_box' in oxmere on 2026-12-01 should give a question (food_origin), "
            "and gives mixed_recycling",
        ),
        (GOOD.replace("pizza_box", "pizza_bax") % "asks: x", "there is no item 'pizza_bax'"),
        (GOOD.replace("oxmere", "elsewhere") % "asks: x", "there is no district 'elsewhere'"),
        (GOOD.replace("food_origin", "food") % "asks: x", "there is no condition 'food'"),
        (GOOD.replace("home", "mars") % "asks: x", "'food_origin' has no value 'mars'"),
        (GOOD.replace("12-01", "13-01") % "asks: x", "there is no day 2026-13-01"),
        (GOOD % "more: x", "this is no case"),
        ("pizza box", "this is no case"),
        ("{item: pizza_box, destination: residual}", "this is no case"),
    ],
)
def test_case_that_does_not(demo, line, said):
    assert told(demo, line) == [said]


@pytest.mark.parametrize("text", ["", "x: 1\n", "cases: 1\n", "- 1\n", "cases: [\n"])
def test_file_that_holds_no_cases(demo, text):
    count, (found,) = check_cases(demo, {"examples/x.yml": text})
    assert count == 0 and found.place.file == "examples/x.yml" and found.cure
