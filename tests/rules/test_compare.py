"""Comparisons against a slow second way of comparing, and against what the scheme announces."""

from __future__ import annotations

import json
from datetime import date
from functools import cache
from pathlib import Path

import jsonschema
from comparing import Told, agree, nothing_missed
from hypothesis import given, settings
from hypothesis import strategies as st
from small_book import TEXTS

import rules
from rules.compare import compare
from rules.loader import load_texts

SCHEMA = json.loads((Path(rules.__file__).parent / "comparison.schema.json").read_text())
SHAPE = jsonschema.Draft7Validator(SCHEMA)
SINCE = date(2026, 6, 1)
BOTH = [(i, i) for i in ("box", "letter", "pizza_box", "battery")]

EDITS = {
    "another place": (
        "      - when: {origin: takeaway}\n        goes: residual",
        "      - when: {origin: takeaway}\n        goes: centre",
    ),
    "a dated place": (
        "      - when: {soiling: clean}\n        goes: card\n",
        "      - when: {soiling: clean}\n        until: 2026-12-31\n        goes: residual\n"
        "        why: Not yet.\n"
        "      - when: {soiling: clean}\n        from: 2027-01-01\n        goes: card\n",
    ),
    "another reason": ("Grease spoils paper.", "Grease soaks in."),
    "another order": ("prepare: [Flatten it.]", "prepare: [Flatten it., Tie it up.]"),
    "an alternative": ("            or: [centre]\n", ""),
    "a question less": ("    ask: [origin]\n", "    assume: {origin: home}\n"),
    "another source": (
        "    source: Policy 2\n    why: A battery can burn.",
        "    source: Policy 7\n    why: A battery can burn.",
    ),
    "a careful value": (
        "    name: battery\n    hazard: battery\n",
        "    name: battery\n    cautious: {damage: sound}\n    hazard: battery\n",
    ),
    "another condition": (
        "    name: letter\n    follows: paper\n",
        "    name: letter\n    ask: [damage]\n    source: Policy 3\n    why: It depends.\n"
        "    outcomes:\n      - when: {damage: sound}\n        goes: card\n"
        "      - when: {damage: damaged}\n        goes: centre\n",
    ),
    "one place for both": (
        "\n      - when: {damage: sound}\n        goes: centre\n"
        "      - when: {damage: damaged}\n        goes: hold\n",
        "\n      - when: {damage: sound}\n        goes: residual\n"
        "      - when: {damage: damaged}\n        goes: residual\n",
    ),
    "a value more": (
        "      damaged: {label: Damaged, says: [damaged]}",
        "      damaged: {label: Damaged, says: [damaged]}\n      wet: {label: Wet, says: [wet]}",
    ),
}
"""One passage of the small book's items for another."""


@cache
def book_with(names):
    text = TEXTS["items.yml"]
    for name in sorted(names):
        before, after = EDITS[name]
        assert text.count(before) == 1, name
        text = text.replace(before, after)
    if "a value more" in names:
        text = text.replace("{damage: damaged}", "{damage: [damaged, wet]}")
    return load_texts({**TEXTS, "items.yml": text})


def edited(*names):
    """The small book with some edits."""
    return book_with(frozenset(names))


def told_of(comparison):
    """The JSON of a comparison, found to be in its shape."""
    data = json.loads(json.dumps(comparison.to_json()))
    assert [e.message for e in SHAPE.iter_errors(data)] == []
    assert data["same"] is (not comparison)
    return data


SETS = st.sets(st.sampled_from(sorted(EDITS)), max_size=5)
DAYS = (SINCE, date(2026, 12, 31), date(2027, 1, 1), date(2028, 5, 5))
some = settings(max_examples=30, deadline=None, derandomize=True)


@some
@given(SETS, SETS)
def test_every_difference_is_told_and_nothing_else(one, other):
    old, new = edited(*one), edited(*other)
    told = Told(told_of(compare(old, new, since=SINCE)))
    for day in DAYS:
        agree(old, new, told.on(day), (day, day), BOTH)
        nothing_missed(old, new, told.on(day), (day, day), BOTH)


@some
@given(SETS, SETS, st.sampled_from(DAYS), st.sampled_from(DAYS))
def test_every_difference_between_two_days_is_told(one, other, before, after):
    old, new = edited(*one), edited(*other)
    told = Told(told_of(compare(old, new, old_on=before, new_on=after)))
    agree(old, new, told, (before, after), BOTH)


@some
@given(SETS)
def test_book_does_not_differ_from_itself(names):
    book = edited(*names)
    for comparison in (compare(book, book, since=SINCE), compare(book, book, old_on=DAYS[3])):
        assert not comparison
        assert comparison.lines() == []
        told = told_of(comparison)
        assert told["same"] and not told["answers"] and not told["entries"]


def rows_of(told, swapped=False):
    """What a comparison tells, row by row in an order of its own; old and new may change places."""
    at = (1, 0) if swapped else (0, 1)
    rows = []
    for one, item, place, cases in Told(told).rows:
        ids, values = (item["old"], item["new"]), (place["old"], place["new"])
        row = [one["aspect"], one["from"], one["until"], place["district"], cases]
        rows.append([*row, *(ids[n] for n in at), *(values[n] for n in at)])
    return sorted(json.dumps(r, sort_keys=True) for r in rows)


@some
@given(SETS, SETS)
def test_other_way_round_old_and_new_change_places(one, other):
    old, new = edited(*one), edited(*other)
    there, back = (told_of(compare(a, b, since=SINCE)) for a, b in ((old, new), (new, old)))
    assert rows_of(there) == rows_of(back, swapped=True)


def test_value_more_is_told_as_a_new_case():
    lines = compare(edited(), edited("a value more"), since=SINCE).lines()
    assert (
        "Battery (“Wet”), in every district, from 1 June 2026: hold, which is a new case." in lines
    )
    assert "New: question “Is it damaged?”, answer “Wet”." in lines


def test_items_that_are_written_elsewhere_are_the_same():
    text = TEXTS["items.yml"]
    moved = text.replace("about: The items.", "about: The items.\n\n\n")
    assert not compare(edited(), load_texts({**TEXTS, "items.yml": moved}), since=SINCE)
