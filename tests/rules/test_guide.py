"""The rule file of what is printed: its mistakes are told with line and cure."""

from __future__ import annotations

from datetime import date

import pytest
from small_book import TEXTS, line_of

from rules.check import prove
from rules.loader import BookError, load, load_texts

GUIDE = """\
about: What is printed.
owner: Office
reviewed: 2026-06-01
guide:
  common:
    - letter
    - battery
  tags:
    card:
      - battery
      - {item: letter, when: {soiling: dirty}}
"""
TODAY = date(2026, 11, 25)


def with_guide(old: str = "", new: str = "") -> dict[str, str]:
    assert not old or GUIDE.count(old) == 1
    return {**TEXTS, "guide.yml": GUIDE.replace(old, new) if old else GUIDE}


def test_guide_is_read():
    guide = load_texts(with_guide()).guide
    assert guide and guide.common == ("letter", "battery")
    assert [(w.item, dict(w.facts)) for w in guide.tags["card"]] == [
        ("battery", {}),
        ("letter", {"soiling": "dirty"}),
    ]
    assert guide.tags["card"][1].where.line == line_of(GUIDE, "- {item: letter")


def test_book_without_guide_is_sound():
    book = load_texts(TEXTS)
    assert book.guide is None
    assert prove(book, TODAY).errors == ()


# What is planted, what stands on the line that is named, part of what is said and of the cure.
MISTAKES = [
    ("    - letter\n", "    - leter\n", "- leter", "there is no item 'leter'", "'letter'"),
    ("    - battery\n  tags", "    - letter\n  tags", "- letter\n  tags", "listed twice", "Keep"),
    ("    card:\n", "    crad:\n", "crad:", "there is no stream 'crad'", "'card'"),
    ("      - battery\n", "      - batery\n", "- batery", "no item 'batery'", "'battery'"),
    ("soiling: dirty", "soiling: durty", "- {item", "no value 'durty'", "'dirty'"),
    ("soiling: dirty", "soilin: dirty", "- {item", "no condition 'soilin'", "'soiling'"),
]


@pytest.mark.parametrize(("old", "new", "passage", "what", "cure"), MISTAKES)
def test_mistake_is_told_with_line_and_cure(old, new, passage, what, cure):
    texts = with_guide(old, new)
    with pytest.raises(BookError) as told:
        load_texts(texts)
    (mistake,) = told.value.mistakes
    assert mistake.file == "guide.yml"
    assert mistake.line == line_of(texts["guide.yml"], passage)
    assert what in mistake.what and cure in mistake.cure


def test_condition_that_an_item_does_not_have():
    book = load_texts(with_guide("{item: letter, when: {soiling: dirty}}",
                                 "{item: letter, when: {origin: home}}"))  # fmt: skip
    (error,) = prove(book, TODAY).errors
    assert "does not depend on 'origin'" in error.what and "soiling" in error.cure


def test_tick_box_for_what_always_belongs_there_is_a_warning():
    book = load_texts(with_guide("      - battery\n", "      - letter\n"))
    proof = prove(book, TODAY)
    assert proof.errors == ()
    assert any("belongs in 'card'" in w.what for w in proof.warnings)


def test_every_tick_box_of_the_real_book_can_be_right():
    book = load()
    assert not [w for w in prove(book, TODAY).findings if w.place.file == "guide.yml"]
