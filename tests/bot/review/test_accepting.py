"""Accepting a group makes a proposed change, and only that: the rule files stay as they are."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bot.review import accept
from bot.review.accept import NewItem, Wrong
from bot.review.form import form_of
from bot.review.nearest import answers, nearest_in, topics
from rules import Decision, decide
from rules.edit import add_item
from rules.loader import load_texts, read_files
from tests.bot.review.rows import keep, unknown

NEW = NewItem(
    name="theremin",
    also=("aetherphone",),
    file="items/home.yml",
    goes="recycling_centre",
    why="It has metal in it.",
    prepare=("Take the batteries out.",),
    source="common practice, no source",
)


@pytest.fixture
def group(board):
    more = {"district": "oxmere"}
    keep(board.rules.parent / "data", unknown("my old theremin", **more), unknown("theremins"))
    (found,) = board.groups()
    return found


def with_change(board, change):
    made = board.changes.get(change)
    files = {name.removeprefix("book/"): text for name, text in made.files.items()}
    return made, load_texts({**read_files(board.rules), **files})


def test_name_is_proposed_and_nothing_written(board, group):
    before = read_files(board.rules)
    change, book = with_change(board, board.name(group, "Duvet", ["theremin"], "officer"))
    assert read_files(board.rules) == before
    assert (change.state, change.by) == ("proposed", "officer")
    assert "theremin" in book.items["duvet"].also and set(change.files) == {"book/items/home.yml"}
    assert change.about["review"] == group.key
    asked = change.about["questions"]
    first = {"say": "where does my old theremin go", "district": "oxmere"}
    assert {**first, "conversation": "review-1"} in asked
    assert {"say": "theremin", "district": None} in asked
    assert board.group(group.key).state == "waiting"


def test_dropped_change_brings_the_group_back(board, group, monkeypatch):
    board.name(group, "duvet", ["theremin"], "officer")
    monkeypatch.setattr(board, "state_of", lambda change: "dropped")
    found = board.group(group.key)
    assert found.state == "open" and "dropped" in found.note


def test_several_names_in_one_change(board, group):
    names = ["theremin", " aetherphone ", "theremin", ""]
    _, book = with_change(board, board.name(group, "duvet", names, "o"))
    assert {"theremin", "aetherphone"} <= set(book.items["duvet"].also)


@pytest.mark.parametrize(
    ("item", "names", "field"),
    [
        ("", ["theremin"], "item"),
        ("no such thing", ["theremin"], "item"),
        ("duvet", [], "names"),
        ("duvet", ["  "], "names"),
        ("duvet", ["pizza box"], "names"),  # another item's name
        ("duvet", ["?!"], "names"),
    ],
)
def test_wrong_name_is_told_by_its_field(board, group, item, names, field):
    with pytest.raises(Wrong) as wrong:
        board.name(group, item, names, "o")
    assert list(wrong.value.told) == [field] and "Traceback" not in str(wrong.value)
    assert board.group(group.key).state == "open"


def test_new_item_answers_as_it_says(board, group):
    _, book = with_change(board, board.item(group, NEW, "o"))
    assert book.named("aetherphone") == "theremin"
    for district in book.districts:
        found = decide(book, district, book.scheme.starts, "theremin")
        assert found.destination == "recycling_centre" and found.prepare == NEW.prepare


def test_new_item_like_another_answers_as_that_one(board, book):
    texts = read_files(board.rules)
    likes = {f"theremin {like}": like for like in ("duvet", "pizza_box", "aerosol", "kettle")}
    for name, like in likes.items():
        entry = accept.entry_of(book, texts, NewItem(name=name, like=like))
        texts.update(add_item(texts, "items/home.yml", name.replace(" ", "_"), entry))
    changed = load_texts(texts)
    for name, like in likes.items():
        item = name.replace(" ", "_")
        assert changed.items[item].hazard == book.items[like].hazard
        for district in book.districts:
            one = decide(changed, district, book.scheme.starts, item)
            two = decide(book, district, book.scheme.starts, like)
            if isinstance(two, Decision):
                assert isinstance(one, Decision)
                assert (one.destination, one.why, one.caution) == (
                    two.destination,
                    two.why,
                    two.caution,
                )
            else:
                assert (one.condition, one.values) == (two.condition, two.values)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": " "}, "name"),
        ({"name": "pizza box"}, "name"),
        ({"file": ""}, "file"),
        ({"file": "scheme.yml"}, "file"),
        ({"file": "../../etc/passwd"}, "file"),
        ({"goes": ""}, "goes"),
        ({"like": "duvet"}, "goes"),
        ({"goes": "moon"}, "goes"),
        ({"goes": "", "like": "moon"}, "like"),
        ({"why": ""}, "why"),
        ({"source": ""}, "source"),
        ({"hazard": "moon"}, "hazard"),
        ({"hazard": "battery", "goes": "residual"}, "goes"),
        ({"hazard": "battery", "goes": "card"}, "goes"),
    ],
)
def test_wrong_item_is_told_by_its_field(board, group, change, field):
    with pytest.raises(Wrong) as wrong:
        board.item(group, replace(NEW, **change), "o")
    assert field in wrong.value.told


def test_all_that_is_wrong_is_told_at_once(board, group):
    with pytest.raises(Wrong) as wrong:
        board.item(group, NewItem(), "o")
    assert {"name", "file", "goes"} <= set(wrong.value.told)


def test_ids_are_new_and_fit_the_files(book):
    assert accept.id_of(book, "12 volt Theremin & co") == "item_12_volt_theremin_co"
    assert accept.id_of(book, "Pizza box") == "pizza_box_2"
    assert accept.id_of(book, "???") == "item"


def test_suggested_names_leave_out_what_is_read_anyway(board):
    said = [
        "theremins",
        "theremins",
        "thermin",
        "my old electric theremin",
        "[name] lamp",
        "zither",
    ]
    keep(board.rules.parent / "data", *(unknown(s) for s in said))
    groups = board.groups()
    assert accept.suggested(groups[0]) == ["theremin"]
    assert all("[" not in n for g in groups for n in accept.suggested(g))


def test_rule_of_an_answer_is_found_where_it_stands(book, board):
    files = read_files(board.rules)
    decided = [decide(book, "oxmere", book.scheme.starts, i) for i in book.items]
    rules = {d.rule for d in decided if isinstance(d, Decision)}
    assert len(rules) > 100
    for rule in rules:
        place = accept.rule_place(book, rule)
        assert place is not None and rule.startswith(f"{place.file}: ")
        assert files[place.file].splitlines()[place.line - 1].strip().startswith("- ")
    for gone in (None, "", "items/home.yml: no_such_table, row 1", "scheme.yml: fallback", "x"):
        assert accept.rule_place(book, gone) is None


@pytest.mark.parametrize(
    ("said", "item"),
    [
        ("old ski boots", "shoes"),  # a name of it
        ("electric fence energiser", "battery_gadget"),  # shares what it is of
        ("bubblewrapp", "bubble_wrap"),
    ],
)
def test_nearest_items(book, said, item):
    near = nearest_in(book).of([form_of(said)])
    assert item in [n.item for n in near]
    assert [n.score for n in near] == sorted((n.score for n in near), reverse=True)


def test_nothing_is_near_to_what_is_like_nothing(book):
    assert nearest_in(book).of([form_of("qwxzzk")]) == []


def test_answers_are_those_of_the_rules(book):
    told = answers(book, "duvet", book.scheme.starts)
    assert sorted(n for names, _ in told for n in names) == sorted(
        d.name for d in book.districts.values()
    )
    assert told == [([d.name for d in book.districts.values()], told[0][1])]
    assert [goes.split(" (")[0] for _, goes in told[0][1]] == ["general waste"]
    pizza = answers(book, "pizza_box", book.scheme.starts)
    assert {len(cases) for _, cases in pizza} == {2}


def test_topics_like_a_message(book):
    topic = next(iter(book.topics.values()))
    assert topics(book, [topic.says[0]])[0] == (topic.id, topic.title)
    assert topics(book, []) == []
