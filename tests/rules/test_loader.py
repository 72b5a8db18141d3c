"""Reading rule files: every kind of mistake is told with its file, its line and a cure."""

from __future__ import annotations

import dataclasses
import time

import pytest
from small_book import ITEMS, SCHEME, TEXTS, line_of, planted, small_book

from rules.loader import BookError, load, load_texts, read_files

# What is planted: file, passage, replacement; the passage whose line is named; part of what is
# said, and part of the cure.
MISTAKES = {
    "unknown key": (
        "items.yml",
        "    name: letter\n",
        "    nmae: letter\n",
        "nmae",
        "'nmae' is not known",
        "'name'",
    ),
    "missing key": (
        "items.yml",
        "    name: letter\n    follows",
        "    follows",
        "  letter:",
        "has no 'name'",
        "Add 'name:'",
    ),
    "wrong kind of value": (
        "items.yml",
        "    name: letter\n",
        "    name: [letter]\n",
        "name: [letter]",
        "is '['letter']'",
        "a text",
    ),
    "a figure for a text": (
        "items.yml",
        "    name: letter\n",
        "    name: 12\n",
        "name: 12",
        "is '12'",
        "put figures in quotes",
    ),
    "an empty text": ("items.yml", "name: letter", "name: ''", "name: ''", "empty", "Fill it in"),
    "both goes and see": (
        "items.yml",
        "        see: box\n",
        "        see: box\n        goes: card\n",
        "- when: {origin: home}",
        "has both 'goes' and 'see'",
        "Give one",
    ),
    "neither goes nor see": (
        "items.yml",
        "        see: box\n",
        "",
        "- when: {origin: home}",
        "has no 'goes' or 'see'",
        "Give one",
    ),
    "bad id": (
        "items.yml",
        "  letter:\n",
        "  Letter-Box:\n",
        "items:",
        "'Letter-Box' is not an id",
        "small letters",
    ),
    "unknown kind of destination": (
        "scheme.yml",
        "kind: place",
        "kind: shop",
        "  centre:",
        "'shop'",
        "Use one of: bin, bag",
    ),
    "date in another form": (
        "items.yml",
        "reviewed: 2026-06-02",
        "reviewed: 2 June 2026",
        "reviewed:",
        "2 June 2026",
        "year-month-day",
    ),
    "date that does not exist": (
        "items.yml",
        "        see: box\n",
        "        see: box\n        from: 2027-02-29\n",
        "from: 2027-02-29",
        "there is no day 2027-02-29",
        "Check the date",
    ),
    "review date that does not exist": (
        "items.yml",
        "reviewed: 2026-06-02",
        "reviewed: 2026-06-31",
        "reviewed:",
        "2026-06-31",
        "Check the date",
    ),
    "always is no review date": (
        "items.yml",
        "reviewed: 2026-06-02",
        "reviewed: always",
        "reviewed:",
        "always",
        "year-month-day",
    ),
    "always is no day for a change": (
        "scheme.yml",
        "on: 2027-01-01",
        "on: always",
        "on: always",
        "always",
        "year-month-day",
    ),
    "always is no start": (
        "scheme.yml",
        "starts: 2026-04-01",
        "starts: always",
        "starts: always",
        "always",
        "year-month-day",
    ),
    "period that ends before it starts": (
        "items.yml",
        "        see: box\n",
        "        see: box\n        from: 2027-02-02\n        until: 2027-02-01\n",
        "until:",
        "ends before it starts",
        "Swap",
    ),
    "unknown condition": (
        "items.yml",
        "    ask: [origin]\n",
        "    ask: [orign]\n",
        "orign",
        "no condition 'orign'",
        "'origin'",
    ),
    "unknown value": (
        "items.yml",
        "when: {origin: home}",
        "when: {origin: hoem}",
        "hoem",
        "no value 'hoem'",
        "'home'",
    ),
    "condition neither asked nor assumed": (
        "items.yml",
        "when: {origin: home}",
        "when: {origin: home, damage: sound}",
        "damage: sound}\n        see",
        "neither asked nor assumed",
        "Add it under",
    ),
    "both asked and assumed": (
        "items.yml",
        "    ask: [origin]\n",
        "    ask: [origin]\n    assume: {origin: home}\n",
        "assume: {origin",
        "both asked and assumed",
        "Keep it under one",
    ),
    "unknown destination": (
        "items.yml",
        "        goes: centre\n",
        "        goes: center\n",
        "goes: center",
        "'center'",
        "'centre'",
    ),
    "unknown alternative": (
        "items.yml",
        "            or: [centre]\n",
        "            or: [shop]\n",
        "or: [shop]",
        "'shop'",
        "Use a stream",
    ),
    "unknown item after see": (
        "items.yml",
        "        see: box\n",
        "        see: boxes\n",
        "see: boxes",
        "no item 'boxes'",
        "'box'",
    ),
    "unknown table": (
        "items.yml",
        "    name: letter\n    follows: paper\n",
        "    name: letter\n    follows: papr\n",
        "papr",
        "no table 'papr'",
        "'paper'",
    ),
    "unknown danger": (
        "items.yml",
        "    hazard: battery\n",
        "    hazard: baterry\n",
        "baterry",
        "no danger 'baterry'",
        "'battery'",
    ),
    "unknown district": (
        "items.yml",
        "      south:\n",
        "      soth:\n",
        "soth",
        "no district 'soth'",
        "'south'",
    ),
    "unknown stream in a container": (
        "scheme.yml",
        "called: green bin, takes: [card]",
        "called: green bin, takes: [cards]",
        "green bin",
        "no stream 'cards'",
        "'card'",
    ),
    "ask beside follows": (
        "items.yml",
        "    name: letter\n",
        "    name: letter\n    ask: [origin]\n",
        "    ask: [origin]\n    follows",
        "not used",
        "Remove it",
    ),
    "condition with one value": (
        "items.yml",
        "      dirty: {label: Dirty, says: [dirty]}\n",
        "",
        "    values:\n      clean",
        "decides nothing",
        "Add another",
    ),
    "denied value that is none": (
        "items.yml",
        "says: [home]}",
        "says: [home], denied: shop}",
        "says: [home]",
        "no value 'shop'",
        "",
    ),
    "points at itself": (
        "items.yml",
        "        see: box\n",
        "        see: pizza_box\n",
        "  pizza_box:",
        "in a circle",
        "its own 'goes'",
    ),
    "key given twice": (
        "items.yml",
        "    name: letter\n",
        "    name: letter\n    name: post\n",
        "    name: post",
        "'name' is given twice",
        "Keep one",
    ),
    "id given twice": (
        "items.yml",
        "  letter:\n",
        "  box:\n",
        "  box:\n    name: letter",
        "'box' is given twice",
        "Keep one",
    ),
    "not YAML": (
        "items.yml",
        "    name: letter\n",
        "    name: let: ter\n",
        "let: ter",
        "not valid YAML",
        "colon",
    ),
    "a tab": (
        "items.yml",
        "    name: letter\n",
        "\tname: letter\n",
        "\tname",
        "not valid YAML",
        "indentation",
    ),
    "a key that is no word": (
        "items.yml",
        "    name: letter\n",
        "    ? [a, b]\n    : letter\n",
        "? [a, b]",
        "not a word",
        "plain word",
    ),
}


def mistakes(texts):
    with pytest.raises(BookError) as caught:
        load_texts(texts)
    return caught.value.mistakes


@pytest.mark.parametrize("name", MISTAKES)
def test_mistake_is_told_with_file_line_and_cure(name):
    file, old, new, passage, said, cure = MISTAKES[name]
    texts = planted(file, old, new)
    line = line_of(texts[file], passage)
    found = mistakes(texts)
    hits = [m for m in found if said in m.what and cure in m.cure]
    assert hits, [str(m) for m in found]
    assert (file, line) in [(m.file, m.line) for m in hits], [str(m) for m in hits]
    for mistake in found:
        assert mistake.cure.strip() or mistake.what
        assert str(mistake).startswith(f"{mistake.file}, line {mistake.line}: ")


def test_circle_of_two():
    text = ITEMS.replace("        goes: centre\n", "        see: pizza_box\n").replace(
        "see: box", "see: battery"
    )
    found = mistakes({**TEXTS, "items.yml": text})
    assert {m.line for m in found if "circle" in m.what} == {
        line_of(text, "  pizza_box:"),
        line_of(text, "  battery:\n    name"),
    }


def test_same_id_in_two_files():
    head = "about: More.\nowner: Office\nreviewed: 2026-06-02\n"
    other = f"{head}items:\n  box:\n    name: crate\n    follows: paper\n"
    found = mistakes({**TEXTS, "more.yml": other})
    first = line_of(ITEMS, "  box:\n")
    assert [(m.file, m.line, m.what) for m in found] == [
        ("more.yml", 5, f"'box' is already in items.yml, line {first}")
    ]


def test_all_mistakes_are_told_at_once_in_order():
    text = ITEMS
    planted_now = ("unknown condition", "unknown destination", "unknown district", "unknown danger")
    for name in planted_now:
        text = text.replace(MISTAKES[name][1], MISTAKES[name][2])
    found = mistakes({**TEXTS, "items.yml": text})
    for name in planted_now:
        assert any(MISTAKES[name][4] in m.what for m in found), name
    assert [(m.file, m.line) for m in found] == sorted((m.file, m.line) for m in found)


def test_mistakes_of_shape_in_two_files_are_told_at_once():
    scheme = SCHEME.replace("kind: place", "kind: shop")
    items = ITEMS.replace("    name: letter\n", "    nmae: letter\n")
    assert {m.file for m in mistakes({"scheme.yml": scheme, "items.yml": items})} == {
        "scheme.yml",
        "items.yml",
    }


@pytest.mark.parametrize("section", ["scheme", "fallback", "destinations", "streams", "districts"])
def test_missing_section_is_named(section):
    lines = SCHEME.splitlines(keepends=True)
    start = lines.index(f"{section}:\n")
    end = next(
        (i for i in range(start + 1, len(lines)) if not lines[i].startswith(" ")), len(lines)
    )
    found = mistakes({**TEXTS, "scheme.yml": "".join(lines[:start] + lines[end:])})
    assert any(section in m.what and section in m.cure for m in found)


def test_second_scheme_is_refused():
    found = mistakes({**TEXTS, "zz.yml": SCHEME.split("destinations:")[0]})
    assert any(m.what.startswith("a second scheme (first in scheme.yml, line 4)") for m in found)


def test_not_utf8(tmp_path):
    (tmp_path / "a.yml").write_bytes("about: caf\xe9\n".encode("latin-1"))
    with pytest.raises(BookError) as caught:
        load(tmp_path)
    assert str(caught.value) == "a.yml, line 1: not saved as UTF-8. Save it again as UTF-8"


def test_empty_folder(tmp_path):
    with pytest.raises(BookError) as caught:
        load(tmp_path)
    assert caught.value.mistakes[0].what == "no rule file here"


def test_folder_that_is_not_there(tmp_path):
    with pytest.raises(BookError):
        load(tmp_path / "none")


@pytest.mark.parametrize("text", ["", "# nothing\n", "- a\n- b\n", "just words\n", "12\n", "~\n"])
def test_file_that_is_no_block_of_lines(text):
    found = mistakes({**TEXTS, "odd.yml": text})
    assert {m.file for m in found} == {"odd.yml"}
    assert all(m.cure for m in found)


def test_files_in_folders_are_named_from_there(tmp_path):
    (tmp_path / "deep").mkdir()
    (tmp_path / "scheme.yml").write_text(SCHEME, encoding="utf-8")
    (tmp_path / "deep" / "items.yaml").write_text(ITEMS, encoding="utf-8")
    assert set(read_files(tmp_path)) == {"scheme.yml", "deep/items.yaml"}
    assert load(tmp_path).items["box"].where.file == "deep/items.yaml"


def test_tags_build_nothing():
    """A tag that would run a command with an unsafe reader is plain text here."""
    tag = "!!python/object/apply:os.system ['touch /tmp/lidwise-tag-ran']"
    found = mistakes(planted("items.yml", "    name: letter\n", f"    name: {tag}\n"))
    assert any("name" in m.what for m in found)


def test_anchors_may_repeat_a_value():
    text = ITEMS.replace("prepare: [Flatten it.]", "prepare: &steps [Flatten it.]")
    text = text.replace(
        "why: Grease spoils paper.", "why: Grease spoils paper.\n        prepare: *steps"
    )
    book = load_texts({**TEXTS, "items.yml": text})
    assert [row.prepare for row in book.items["box"].table.rows] == [("Flatten it.",)] * 2


def test_value_that_holds_itself():
    found = mistakes({**TEXTS, "odd.yml": "about: &a\n  - *a\nowner: x\nreviewed: 2026-06-02\n"})
    assert any("holds itself" in m.what for m in found)


def test_anchors_that_multiply_are_refused_at_once():
    """A few lines that would unfold to a thousand million values."""
    levels = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    levels += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 9)]
    start = time.perf_counter()
    found = mistakes({**TEXTS, "odd.yml": "\n".join(levels)})
    assert time.perf_counter() - start < 5
    assert any(m.file == "odd.yml" and "too many values" in m.what for m in found)


def test_nested_without_end():
    found = mistakes({**TEXTS, "odd.yml": "about: " + "[" * 20_000})
    assert {m.file for m in found} == {"odd.yml"}


def test_number_of_thousands_of_figures():
    """Python would refuse to read it; here it stays a text, and so a name."""
    figures = "9" * 5000
    book = load_texts(planted("items.yml", "    name: letter\n", f"    name: {figures}\n"))
    assert book.items["letter"].name == figures


def test_yes_and_dates_stay_texts():
    """YAML 1.1 reads yes as true and a date as a date; the files mean the words."""
    text = ITEMS.replace("says: [home]", "says: [yes, on]").replace(
        "about: The items.", "about: 2026-01-01"
    )
    book = load_texts({**TEXTS, "items.yml": text})
    assert book.conditions["origin"].values["home"].says == ("yes", "on")


def test_order_of_files_does_not_matter():
    turned = dict(reversed(TEXTS.items()))
    assert load_texts(turned).version == small_book().version
    assert load_texts(turned).items == small_book().items


def test_version_tells_every_change():
    assert load_texts(
        planted("items.yml", "Grease spoils paper.", "Grease spoils card.")
    ).version != (small_book().version)


def test_book_cannot_be_changed():
    book = small_book()
    with pytest.raises(TypeError):
        book.items["box"] = None
    with pytest.raises(dataclasses.FrozenInstanceError):
        book.items["box"].name = "crate"


def test_places_are_lines_of_the_files(demo, demo_texts):
    for item in demo.items.values():
        line = demo_texts[item.where.file].splitlines()[item.where.line - 1]
        assert line.strip().startswith(f"{item.id}:")
    for file in demo.files:
        line = demo_texts[file.path].splitlines()[file.where.line - 1]
        assert line == f"reviewed: {file.reviewed}"
