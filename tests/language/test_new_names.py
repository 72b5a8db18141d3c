"""A thing added to the rule files is found by all its names at once, without training."""

from __future__ import annotations

import pytest
from reading import items, told

from bot.language.lexicon import build
from bot.language.reader import Reader
from rules import load
from rules.loader import BOOK, load_texts, read_files

FILE = "items/home.yml"
ITEM = """
  quillow_blanket:
    name: quillow blanket
    also: [fleece quillow, cuddle quilt]
    ask: {usable: [usable, broken]}
    source: a test
    why: It is new.
    outcomes:
      - when: {usable: usable}
        goes: reuse
      - when: {usable: broken}
        goes: residual
"""


@pytest.fixture(scope="module")
def newer(frame: frozenset[str]) -> Reader:
    """A reader of a book with one thing more; what training learnt is the same."""
    texts = read_files(BOOK)
    texts[FILE] = texts[FILE].rstrip("\n") + "\n" + ITEM
    return Reader(build(load_texts(texts), frame), frame, frame)


def test_it_is_new(reader: Reader, newer: Reader) -> None:
    assert "quillow_blanket" not in load().items
    assert items(reader, "quillow blanket") != ["quillow_blanket"]
    assert newer.context.lexicon.book.version != reader.context.lexicon.book.version


@pytest.mark.parametrize(
    "text",
    [
        "quillow blanket",
        "fleece quillow",
        "cuddle quilt",
        "quillow blankets",
        "fleece quillows",
        "cuddle quilts",
        "where does the quillow blanket go",
        "what bin for cuddle quilts",
        "a fleece quillow",
        "QUILLOW BLANKET",
        "quillow-blanket",
        "quillowblanket",
        "quilow blanket",
        "quillow blankt",
        "quillwo blanket",
        "fleece quillo",
        "cuddel quilt",
        "cuddle qiult",
    ],
)
def test_found_by_every_name(text: str, newer: Reader) -> None:
    assert items(newer, text) == ["quillow_blanket"]


def test_found_in_a_list(newer: Reader) -> None:
    assert items(newer, "jam jars, a cuddle quilt and newspapers") == [
        "glass_jar",
        "quillow_blanket",
        "newspaper",
    ]
    assert items(newer, "newspaper & fleece quilows") == ["newspaper", "quillow_blanket"]


def test_its_conditions_count(newer: Reader) -> None:
    found = told(newer, "a broken cuddle quilt and a usable mug")
    assert [(i, f.get("usable")) for i, f in found] == [
        ("quillow_blanket", "broken"),
        ("mug", "usable"),
    ]


def test_nothing_else_changes(reader: Reader, newer: Reader) -> None:
    """The names of all other things are found as before."""
    book = load()
    changed = [
        name
        for item in book.items.values()
        for name in (item.name, *item.also[:3])
        if items(reader, name) != items(newer, name)
    ]
    assert not changed


def test_a_thing_taken_out_is_not_found(frame: frozenset[str]) -> None:
    texts = read_files(BOOK)
    texts[FILE] = texts[FILE].rstrip("\n") + "\n" + ITEM
    less = texts[FILE].replace("also: [fleece quillow, cuddle quilt]", "also: []")
    reader = Reader(build(load_texts({**texts, FILE: less}), frame), frame, frame)
    assert items(reader, "quillow blanket") == ["quillow_blanket"]
    assert items(reader, "fleece quillow") != ["quillow_blanket"]
