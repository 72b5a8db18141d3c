"""The law on household recycling against the demo book, and against books that break it."""

from __future__ import annotations

import re
from datetime import date

import pytest
import yaml

from rules.loader import BOOK, BookError, load_texts, read_files
from rules.statutory import ENGLAND, check_days, check_statute, load_statute, load_statute_text
from rules.yamlfile import parse

FILM_DAY = date(2027, 3, 31)


@pytest.fixture(scope="module")
def texts():
    return read_files(BOOK)


@pytest.fixture(scope="module")
def book(texts):
    return load_texts(texts)


@pytest.fixture(scope="module")
def statute():
    return load_statute()


def changed(texts, item, change):
    """The files' texts with one item changed, or taken out where `change` gives nothing."""
    for name, text in texts.items():
        if f"  {item}:" not in text:
            continue
        data = parse(name, text)[0].data
        if item in (data.get("items") or {}):
            new = change(data["items"].pop(item))
            if new is not None:
                data["items"][item] = new
            if not data["items"]:
                del data["items"]
            return {**texts, name: yaml.safe_dump(data, allow_unicode=True)}
    raise AssertionError(f"no item {item}")


def without(texts, items):
    """The texts without some items, and without what points at them."""
    for item in items:
        listed, seen = re.compile(rf"(?m)^\s*- {item}\n"), re.compile(rf"(?m)see: {item}$")
        texts = {n: seen.sub("goes: residual", listed.sub("", t)) for n, t in texts.items()}
        texts = changed(texts, item, lambda _: None)
    return texts


def test_demo_book_meets_every_duty_on_every_day(book, statute):
    assert [str(f) for f in check_statute(book, statute)] == []


def test_days_checked_cover_starts_changes_and_film(book, statute):
    days = check_days(book, statute)
    assert days[0] == book.scheme.starts == date(2026, 4, 1)
    assert {date(2027, 2, 1), FILM_DAY} <= set(days)
    assert len(book.districts) == 3


def test_every_stream_of_the_law_has_a_duty(statute):
    streams = {d.stream for d in statute.duties}
    assert streams == {"glass", "metal", "plastic", "paper and card", "food", "garden"}
    assert {d.start for d in statute.duties} == {date(2026, 3, 31), FILM_DAY}
    assert [d.id for d in statute.duties if d.start == FILM_DAY] == ["plastic_film"]


def test_required_items_removed_are_named(texts, statute):
    gone = {"newspaper", "egg_shell", "leaves"}
    found = check_statute(load_texts(without(texts, gone)), statute)
    assert {f.item for f in found} == gone
    for item in gone:
        mine = [f for f in found if f.item == item]
        assert {f.district for f in mine} == {"pellbrook", "oxmere", "tarnside"}
        assert date(2026, 4, 1) in {f.day for f in mine}
        assert all("no such item" in f.instead and "Add a rule" in f.cure for f in mine)


def test_an_item_refused_in_one_district_is_named_there_only(texts, statute):
    def refuse(item):
        row = {"goes": "residual", "why": "No room for it.", "source": "a mistake"}
        return {**item, "districts": {"tarnside": {"because": "No room.", "outcomes": [row]}}}

    found = check_statute(load_texts(changed(texts, "magazine", refuse)), statute)
    assert {(f.district, f.duty, f.item) for f in found} == {("tarnside", "paper", "magazine")}
    assert all(f.instead == "goes to residual" for f in found)


def test_film_left_to_the_shops_fails_from_the_day_of_film(texts, statute):
    def to_shop(item):
        return {
            "name": item["name"],
            "outcomes": [
                {"goes": "shop_take_back", "why": "Shops take it.", "source": "a mistake"}
            ],
        }

    found = check_statute(load_texts(changed(texts, "carrier_bag", to_shop)), statute)
    assert {(f.duty, f.item) for f in found} == {("plastic_film", "carrier_bag")}
    assert {f.district for f in found} == {"pellbrook", "oxmere", "tarnside"}
    assert min(f.day for f in found) == FILM_DAY
    assert all("shop_take_back" in f.instead and "containers" in f.cure for f in found)


def test_a_stream_without_a_container_is_not_collected(texts, statute):
    """The stream `containers` has the same name as a destination, so its code alone would pass."""
    name = next(n for n in texts if n.endswith("oxmere.yml"))
    less = texts[name].replace("          - containers\n", "")
    assert less != texts[name]
    found = check_statute(load_texts({**texts, name: less}), statute)
    assert {f.district for f in found} == {"oxmere"}
    assert "glass" in {f.duty for f in found}
    assert any("no container" in f.instead for f in found)


def test_an_unknown_condition_in_the_statute_is_a_finding(book):
    text = ENGLAND.read_text(encoding="utf-8").replace("contents: empty", "contents: emptied")
    found = check_statute(book, load_statute_text("england.yml", text))
    assert {f.duty for f in found} == {"metal_aerosols"}
    assert any("Did you mean 'empty'?" in f.cure for f in found)


def spoiled(old, new):
    text = ENGLAND.read_text(encoding="utf-8")
    assert old in text
    text = text.replace(old, new, 1)
    with pytest.raises(BookError) as caught:
        load_statute_text("england.yml", text)
    return text, caught.value.mistakes


@pytest.mark.parametrize(
    ("old", "new", "line_with", "what", "cure"),
    [
        ("from: 2027-03-31", "from: 2027-03-32", "2027-03-32", "no day", "Check the date"),
        ("from: 2027-03-31", "from: next year", "next year", "next year", "year-month-day"),
        ("allowed: [food]", "allowed: [landfill]", "landfill", "landfill", "Use one of"),
        ("  - bread_bag", "  - carrier_bag", "carrier_bag", "twice", "Keep one"),
        ("    stream: garden\n", "    streem: garden\n", "streem", "streem", "mean 'stream'"),
    ],
)
def test_a_malformed_statute_is_refused_with_file_line_and_cure(old, new, line_with, what, cure):
    text, mistakes = spoiled(old, new)
    lines = [n for n, line in enumerate(text.splitlines(), 1) if line_with in line]
    fitting = [m for m in mistakes if what in m.what and cure in m.cure]
    assert fitting, [str(m) for m in mistakes]
    assert {m.file for m in fitting} == {"england.yml"}
    assert {m.line for m in fitting} <= set(lines)


@pytest.mark.parametrize("key", ["source", "items", "material"])
def test_a_duty_without_a_needed_line_is_refused(key):
    text = """about: a
owner: b
reviewed: 2026-11-09
law: c
duties:
  glass:
    stream: glass
    material: bottles
    from: 2026-03-31
    allowed: [containers]
    items: [glass_bottle]
    source: from memory
"""
    text = "".join(x for x in text.splitlines(True) if not x.startswith(f"    {key}:"))
    with pytest.raises(BookError) as caught:
        load_statute_text("short.yml", text)
    (mistake,) = caught.value.mistakes
    assert str(mistake).startswith("short.yml, line 6: ")
    assert f"no '{key}'" in mistake.what
    assert f"Add '{key}:'" in mistake.cure


def test_broken_yaml_and_a_missing_file_are_refused_in_words(tmp_path):
    with pytest.raises(BookError, match=r"bad.yml, line 2: not valid YAML"):
        load_statute_text("bad.yml", "about: a\nowner: b: c\n")
    with pytest.raises(BookError, match="cannot be read"):
        load_statute(tmp_path / "none.yml")
