"""What comparisons tell beside the answers: items and names that came and went, and other texts."""

from __future__ import annotations

from datetime import date

import pytest
from small_book import TEXTS, planted, small_book

from rules.compare import compare
from rules.compare.cases import boxes
from rules.loader import load_texts

SINCE = date(2026, 6, 1)


def lines_with(file, old, new):
    """The lines for one passage replaced."""
    return compare(small_book(), load_texts(planted(file, old, new)), since=SINCE).lines()


ONE_LINE = [
    (
        "scheme.yml",
        "    title: Tags\n    says: [what is the tag]\n    answer: It is advice.",
        "    title: Tags\n    says: [what is the tag]\n    answer: It is a hint.",
        "Topic “Tags”, the answer: “It is a hint.” instead of “It is advice.”",
    ),
    (
        "scheme.yml",
        "says: [what is the tag]",
        "says: [what is this tag, what is the tag]",
        "Topic “Tags”, the words that mean it: new: “what is this tag”.",
    ),
    (
        "scheme.yml",
        "    on: 2027-01-01\n",
        "    on: 2027-02-01\n",
        "Announcement for 1 February 2027, the day: 1 February 2027 instead of 1 January 2027.",
    ),
    (
        "scheme.yml",
        "  hours: Monday to Friday",
        "  hours: Every day",
        "The partnership, hours: “Every day” instead of “Monday to Friday”.",
    ),
    (
        "scheme.yml",
        "  why: We have no rule for this.",
        "  why: No rule knows it.",
        "Things no rule knows, the reason: “No rule knows it.” instead of “We have no rule for "
        "this.”",
    ),
    (
        "scheme.yml",
        "    live: [hot]\n",
        "    live: [hot, smoking]\n",
        "Danger “batteries”, signs that it is happening now: new: “smoking”.",
    ),
    (
        "items.yml",
        "    question: Is it damaged?\n",
        "    question: Is the {item} damaged?\n",
        "Question “Is the item damaged?”, its words: “Is the {item} damaged?” instead of “Is it "
        "damaged?”",
    ),
    (
        "items.yml",
        "label: Damaged, says: [damaged]",
        "label: Damaged, says: [damaged, swollen]",
        "Question “Is it damaged?”, answer “Damaged”, the words that mean it: new: “swollen”.",
    ),
    (
        "items.yml",
        "    also: [carton]\n",
        "    also: [packet]\n",
        "Box, names: new: “packet”; gone: “carton”.",
    ),
]


@pytest.mark.parametrize(("file", "old", "new", "line"), ONE_LINE)
def test_text_that_differs_is_told_in_one_line(file, old, new, line):
    assert lines_with(file, old, new) == [line]


def test_another_container_name_is_told_for_the_container_and_the_items():
    assert lines_with("scheme.yml", "called: blue bin", "called: teal bin") == [
        "Card, in North, from 1 June 2026: the teal bin instead of the blue bin.",
        "Box, letter and pizza box (“Home”), in North, from 1 June 2026: the teal bin instead of "
        "the blue bin.",
    ]


def test_caution_of_a_danger_is_told_where_it_is_said():
    assert lines_with("scheme.yml", "never: Never put it in any bin.", "never: No bin.") == [
        "Battery, in every district, from 1 June 2026: the caution is “No bin.” instead of “Never "
        "put it in any bin.”",
        "Danger “batteries”, the caution: “No bin.” instead of “Never put it in any bin.”",
    ]


NEW_ITEM = """\
  crate:
    name: crate
    also: [fruit crate]
    ask: [damage]
    source: Policy 3
    why: It can be used again.
    outcomes:
      - when: {damage: sound}
        until: 2026-12-31
        goes: centre
      - when: {damage: sound}
        from: 2027-01-01
        goes: card
      - when: {damage: damaged}
        goes: residual
"""


def test_new_item_is_told_with_where_it_goes_and_from_when():
    new = load_texts({**TEXTS, "items.yml": TEXTS["items.yml"] + NEW_ITEM})
    told = compare(small_book(), new, since=SINCE)
    (line,) = told.lines()
    assert line == (
        "New in the rules: crate, also called fruit crate. "
        "In North, from 1 June 2026 until 31 December 2026: centre (“Sound”) or the black bin "
        "(“Damaged”). In North, from 1 January 2027: the blue bin (“Sound”) or the black bin "
        "(“Damaged”). "
        "In South, from 1 June 2026 until 31 December 2026: centre (“Sound”) or the red bin "
        "(“Damaged”). In South, from 1 January 2027: the green bin (“Sound”) or the red bin "
        "(“Damaged”)."
    )
    (back,) = compare(new, small_book(), since=SINCE).lines()
    assert back == "No longer in the rules: crate. It is answered as a thing no rule knows."
    assert compare(small_book(), new, since=SINCE, item="crate").entries == told.entries


def test_another_id_alone_is_no_difference():
    assert lines_with("items.yml", "  letter:\n", "  envelope_with_words:\n") == []


def test_another_name_is_one_difference():
    lines = lines_with("items.yml", "    name: letter\n", "    name: missive\n    also: [letter]\n")
    assert lines == ["Letter is now called missive.", "Missive, names: new: “missive”."]


def test_name_that_means_another_item_is_told():
    text = TEXTS["items.yml"].replace("    also: [carton]\n", "")
    text = text.replace("    name: letter\n", "    name: letter\n    also: [cartons]\n")
    told = compare(small_book(), load_texts({**TEXTS, "items.yml": text}), since=SINCE)
    assert told.lines() == ["“cartons” now means letter; it meant box."]


def test_topic_that_came_and_one_that_went():
    topic = (
        "  lid:\n    title: Lids\n    says: [are lids fine]\n    answer: Yes.\n    short: Yes.\n"
        "    source: Policy 9\n"
    )
    new = load_texts(planted("scheme.yml", "topics:\n", "topics:\n" + topic))
    assert compare(small_book(), new, since=SINCE).lines() == ["New: topic “Lids”."]
    assert compare(new, small_book(), since=SINCE).lines() == ["Gone: topic “Lids”."]


def case(**facts):
    return frozenset(facts.items())


ALL = [case(a=a, b=b) for a in "xyz" for b in "pq"]


@pytest.mark.parametrize(
    ("chosen", "told"),
    [
        (ALL, ((),)),
        ([c for c in ALL if ("a", "x") in c], ((("a", ("x",)),),)),
        ([c for c in ALL if ("a", "z") not in c], ((("a", ("x", "y")),),)),
        ([case(a="x", b="p")], ((("a", ("x",)), ("b", ("p",))),)),
    ],
)
def test_cases_are_told_as_few(chosen, told):
    assert boxes(chosen, ALL) == told


def test_case_that_does_not_tell_a_condition_is_kept_out():
    """Somebody may state what a case never looks at, so a box must keep such a case out, too."""
    chosen, other = case(a="x", b="p"), case(a="y")
    assert boxes([chosen], [chosen, other]) == ((("a", ("x",)),),)
