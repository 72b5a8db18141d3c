"""The officers' examples beside the rules: one line each in `rules/examples`."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from rules import Decision, decide
from rules.loader import BOOK
from rules.yamlfile import parse

FOLDER = BOOK.parent / "examples"


def cases():
    for path in sorted(FOLDER.glob("*.yml")):
        document, mistakes = parse(path.name, path.read_text(encoding="utf-8"))
        assert not mistakes, [str(m) for m in mistakes]
        for n, case in enumerate(document.data["cases"]):
            place = f"{path.name}, line {document.line(('cases', n))}"
            yield pytest.param(case, id=f"{place}: {case['item']}")


@pytest.mark.parametrize("case", cases())
def test_example(demo, case):
    assert set(case) in (
        {"item", "facts", "district", "on", "destination"},
        {"item", "facts", "district", "on", "asks"},
    )
    for condition, value in case["facts"].items():
        assert value in demo.conditions[condition].values
    on = date.fromisoformat(case["on"])
    answer = decide(demo, case["district"], on, case["item"], case["facts"])
    if "asks" in case:
        assert not isinstance(answer, Decision), answer.destination
        assert answer.condition == case["asks"]
    else:
        assert isinstance(answer, Decision), answer
        assert answer.destination == case["destination"]


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.yml")), ids=lambda p: p.name)
def test_each_file_says_how_to_add_a_line(path: Path):
    assert path.read_text(encoding="utf-8").startswith("# ")


def test_every_section_has_examples(demo):
    assert len(list(cases())) >= 60
    named = {case.values[0]["item"] for case in cases()}
    sections = {demo.items[item].section for item in named}
    assert len(sections) >= 8, sections
