"""Edits of rule files: what was asked is changed, and nothing else.

Two readers outside the project judge the result: ruamel.yaml reads each edited text to the wanted
data, and difflib finds no line changed but those that had to.
"""

from __future__ import annotations

import difflib
import io
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from rules.edit import EditError, add_item, add_name
from rules.loader import BOOK, load_texts, read_files
from rules.yamlfile import parse

TEXTS = read_files(BOOK)
WHERE = {
    item: file
    for file, text in TEXTS.items()
    for item in (parse(file, text)[0].data.get("items") or {})
}
NEW = "flummet crate"
ENTRY: dict[str, Any] = {
    "name": "zither pouch",
    "also": ["lute bag, large", "on"],
    "ask": ["usable"],
    "source": "common practice",
    "outcomes": [
        {"when": {"usable": "usable"}, "goes": "reuse", "why": "It is: still good."},
        {
            "when": {"usable": "broken"},
            "goes": "residual",
            "prepare": ["Empty it.", "Fold it, then tie it."],
            "why": "Nobody can use it.",
        },
    ],
}


def by_ruamel(text: str) -> Any:
    """The data, as ruamel.yaml reads YAML 1.1 (`on` and dates aside, which stay texts here)."""
    reader = YAML(typ="rt", pure=True)
    reader.version = (1, 1)  # type: ignore[assignment]
    return plain(reader.load(io.StringIO(text)))


def plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, list):
        return [plain(v) for v in value]
    return value if value is None or isinstance(value, bool) else str(value)


def ours(text: str) -> Any:
    document, mistakes = parse("a.yml", text)
    assert not mistakes
    return plain(document.data)


def changed(old: str, new: str) -> tuple[list[str], list[str]]:
    """The lines that went and the lines that came, as difflib tells them."""
    lines = list(difflib.ndiff(old.splitlines(True), new.splitlines(True)))
    return [x[2:] for x in lines if x[0] == "-"], [x[2:] for x in lines if x[0] == "+"]


def quick(old: str, new: str) -> str:
    """What was put in, if nothing but that was done."""
    front = next(
        (i for i, (a, b) in enumerate(zip(old, new, strict=False)) if a != b),
        min(len(old), len(new)),
    )
    added = len(new) - len(old)
    assert old == new[:front] + new[front + added :]
    return new[front : front + added]


def test_a_name_for_every_item() -> None:
    assert len(WHERE) >= 600
    judged = set()
    for number, (item, file) in enumerate(WHERE.items()):
        name, old = f"flummet crate {number}", TEXTS[file]
        new = add_name({file: old}, item, name)[file]
        assert name in quick(old, new)
        if file not in judged and len(judged) < 4:
            judged.add(file)
            wanted = ours(old)
            wanted["items"][item].setdefault("also", []).append(name)
            assert by_ruamel(new) == wanted


@settings(max_examples=30, deadline=None)
@given(item=st.sampled_from(sorted(WHERE)), name=st.text(min_size=1, max_size=30))
def test_any_text_as_a_name(item: str, name: str) -> None:
    """Whatever is typed is put in so that it reads back, or refused in plain words."""
    try:
        ((file, new),) = add_name(TEXTS, item, name).items()
    except EditError as error:
        assert str(error).endswith((".", "?"))
        return
    inside = ours(new)["items"][item]["also"]
    assert inside[-1] == " ".join(name.split())
    assert quick(TEXTS[file], new)
    gone, come = changed(TEXTS[file], new)
    assert len(gone) <= 1 and len(come) == 1


@pytest.mark.parametrize("file", sorted(TEXTS))
def test_an_item_in_every_file(file: str) -> None:
    new = add_item(TEXTS, file, "zither_pouch", ENTRY)[file]
    gone, come = changed(TEXTS[file], new)
    assert gone == [] and "  zither_pouch:\n" in come
    assert ours(new)["items"]["zither_pouch"] == ENTRY
    del (left := ours(new))["items"]["zither_pouch"]
    if not left["items"]:
        del left["items"]
    assert left == ours(TEXTS[file])


@pytest.mark.parametrize("file", ["items/ash.yml", "items/electricals.yml", "topics.yml"])
def test_a_new_item_reads_the_same_in_ruamel(file: str) -> None:
    """electricals.yml ends in an alias, topics.yml has no items yet."""
    new = add_item(TEXTS, file, "zither_pouch", ENTRY)[file]
    assert by_ruamel(new) == ours(new)
    assert load_texts({**TEXTS, file: new}).items["zither_pouch"].also == ("lute bag, large", "on")


# How a file may be laid out. Each is a file before and after the name NEW.

HEAD = "about: A test\nowner: Us\nreviewed: 2026-11-01\nitems:\n"
LAYOUTS = {
    "brackets": (
        "  a:\n    name: a b\n    also: [c, d] # e\n",
        "    also: [c, d, flummet crate] # e\n",
    ),
    "empty brackets": ("  a:\n    name: a b\n    also: []\n", "    also: [flummet crate]\n"),
    "trailing comma": (
        "  a:\n    name: a b\n    also: [c, d, ]\n",
        "    also: [c, d, flummet crate, ]\n",
    ),
    "wrapped, room left": (
        "  a:\n    name: a b\n    also: [cc cc cc cc cc cc cc cc,\n      dd]\n",
        "      dd, flummet crate]\n",
    ),
    "wrapped, line full": (
        "  a:\n    name: a b\n    also: [cc,\n      dd dd dd]\n",
        "      dd dd dd,\n      flummet crate]\n",
    ),
    "one to a line": (
        "  a:\n    name: a b\n    also: [\n      c c,\n      d d,\n    ]\n",
        "      d d,\n      flummet crate,\n",
    ),
    "a remark inside": (
        "  a:\n    name: a b\n    also: [c, # why c\n      d # why d\n    ]\n",
        "      d, flummet crate # why d\n",
    ),
    "dashes": (
        "  a:\n    name: a b\n    also:\n      - c\n      - d # last\n    source: x\n",
        "      - d # last\n      - flummet crate\n    source: x\n",
    ),
    "dashes not set in": (
        "  a:\n    name: a b\n    also:\n    - c\n    source: x\n",
        "    - c\n    - flummet crate\n    source: x\n",
    ),
    "dashes, a quoted name": (
        "  a:\n    name: a b\n    also:\n      - 'it''s'\n",
        "      - 'it''s'\n      - flummet crate\n",
    ),
    "no also": (
        "  a: # note\n    name: 'a b'  # the name\n    source: x\n",
        "    name: 'a b'  # the name\n    also: [flummet crate]\n    source: x\n",
    ),
    "no also, name last": (
        "  a:\n    source: x\n    name: a b\n",
        "    name: a b\n    also: [flummet crate]\n",
    ),
    "name first on the id's line": (
        "  a: {name: a b, source: x}\n",
        "{name: a b, also: [flummet crate], source: x}",
    ),
    "all in brackets": ("  a: {name: a b, also: [c]}\n", "{name: a b, also: [c, flummet crate]}"),
    "a name over two lines": (
        "  a:\n    name: >-\n      a\n      b\n    source: x\n",
        "      b\n    also: [flummet crate]\n    source: x\n",
    ),
    "letters beyond ASCII": (
        "  a:\n    name: café ☕ ½\n    also: [crème, d]\n",
        "    also: [crème, d, flummet crate]\n",
    ),
}


@pytest.mark.parametrize("ends", ["\n", "\r\n"], ids=["LF", "CRLF"])
@pytest.mark.parametrize("last", [True, False], ids=["last", "not last"])
@pytest.mark.parametrize("name", sorted(LAYOUTS))
def test_layout(name: str, last: bool, ends: str) -> None:
    body, wanted = LAYOUTS[name]
    text = (HEAD + body + ("" if last else "  # about b\n\n  b:\n    name: bb\n")).replace(
        "\n", ends
    )
    new = add_name({"x.yml": text}, "a", NEW)["x.yml"]
    assert wanted.replace("\n", ends) in new
    assert NEW in quick(text, new)
    assert by_ruamel(new)["items"]["a"]["also"][-1] == NEW
    assert ours(new) == by_ruamel(new)


@pytest.mark.parametrize(
    "body",
    [b for b, _ in LAYOUTS.values() if b.endswith(("\n",))],
)
def test_no_newline_at_the_end(body: str) -> None:
    text = (HEAD + body).rstrip("\n")
    new = add_name({"x.yml": text}, "a", NEW)["x.yml"]
    assert ours(new)["items"]["a"]["also"][-1] == NEW
    assert not new.endswith("\n")
    both = add_item({"x.yml": text}, "x.yml", "z", {**ENTRY}) if "a: {" not in body else {}
    if both:
        assert ours(both["x.yml"])["items"]["z"] == ENTRY


def test_byte_order_mark_is_kept() -> None:
    text = "\ufeff" + HEAD + "  a:\n    name: a b\n    also: [c]\n"
    new = add_name({"x.yml": text}, "a", NEW)["x.yml"]
    assert new == text.replace("[c]", "[c, flummet crate]")


def test_item_goes_after_the_last_one_and_before_what_follows() -> None:
    text = HEAD + "  a:\n    name: aa\n\n  b:\n    name: bb # the end\n\n# Topics\nsection: Test\n"
    new = add_item({"x.yml": text}, "x.yml", "z", ENTRY)["x.yml"]
    assert "    name: bb # the end\n\n  z:\n    name: zither pouch\n" in new
    assert new.endswith("\n\n# Topics\nsection: Test\n")
    assert "    also: ['lute bag, large', 'on']\n    ask: [usable]\n" in new or (
        "    also: ['lute bag, large', \"on\"]\n" in new
    )


REFUSED = [
    ("pizza_box", "jam jar", "is already a name of 'glass_jar' in items/containers_glass.yml"),
    ("pizza_box", "Jam Jars", "is already a name of 'glass_jar'"),
    ("pizza_box", "pizza box", "is already a name of 'pizza_box'"),
    ("pizza_bx", NEW, "There is no item 'pizza_bx'. Did you mean 'pizza_box'?"),
    ("pizza_box", "  ", "is no name"),
    ("pizza_box", "???", "is no name"),
    ("pizza_box", "a\x07b", "is no name"),
    ("pizza_box", "a" * 81, "A name may have 80 characters; this one has 81."),
]


@pytest.mark.parametrize(("item", "name", "said"), REFUSED)
def test_name_refused(item: str, name: str, said: str) -> None:
    with pytest.raises(EditError) as error:
        add_name(TEXTS, item, name)
    assert said in str(error.value)


@pytest.mark.parametrize(
    ("file", "id", "change", "said"),
    [
        ("items/none.yml", "z", {}, "There is no file 'items/none.yml'."),
        (
            "items/ash.yml",
            "pizza_box",
            {},
            "'pizza_box' is already an item, in items/paper_card.yml",
        ),
        ("items/ash.yml", "z", {"name": "jam jar"}, "is already a name of 'glass_jar'"),
        ("items/ash.yml", "z", {"also": ["zither pouches"]}, "is given twice"),
        ("items/ash.yml", "Not An Id", {}, "is not an id"),
        ("items/ash.yml", "z", {"name": ""}, "is no name"),
        ("items/ash.yml", "z", {"outcomes": []}, "items/ash.yml, line "),
        ("items/ash.yml", "z", {"colour": "red"}, "'colour' is not known"),
    ],
)
def test_item_refused(file: str, id: str, change: dict[str, Any], said: str) -> None:
    with pytest.raises(EditError) as error:
        add_item(TEXTS, file, id, {**ENTRY, **change})
    assert said in str(error.value)


def test_shared_lists_and_broken_files_are_left_alone() -> None:
    """A name put in a list that two items share would change both."""
    shared = HEAD + "  a:\n    name: aa\n    also: &x [c]\n  b:\n    name: bb\n    also: *x\n"
    for item in ("a", "b"):
        with pytest.raises(EditError, match="cannot be edited safely"):
            add_name({"x.yml": shared}, item, NEW)
    broken = HEAD + "  a:\n    name: aa\n    name: bb\n"
    with pytest.raises(
        EditError, match=r"Put this right first: x.yml, line 7: 'name' is given twice"
    ):
        add_name({"x.yml": broken}, "a", NEW)


def test_given_texts_are_not_changed() -> None:
    before = dict(TEXTS)
    add_name(TEXTS, "pizza_box", NEW)
    add_item(TEXTS, "items/ash.yml", "z", ENTRY)
    assert before == TEXTS
