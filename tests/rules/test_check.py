"""The proof: each defect, planted into a sound book, is found and named with its line."""

from __future__ import annotations

import time
from datetime import date

import pytest
from small_book import ITEMS, TEXTS, line_of, planted, small_book

from rules.check import prove
from rules.loader import load_texts
from rules.model import Place
from rules.names import name_key

DAY = date(2026, 11, 25)
LONG = "This sentence is here to be long. " * 12


def proved(texts, **more):
    return prove(load_texts(texts), DAY, **more)


def test_small_book_is_sound():
    proof = proved(TEXTS)
    assert proof.findings == ()
    assert (proof.districts, proof.days, proof.items) == (2, 1, 4)
    # box 2, letter 2, pizza box 1 + 2 through 'see', battery 2: in each of two districts.
    assert proof.combinations == 2 * (2 + 2 + 3 + 2)


def test_real_book_has_no_error(proof):
    assert [str(f) for f in proof.errors] == []


def test_real_book_has_no_warning(proof):
    assert [str(f) for f in proof.warnings] == []


def test_real_proof_covers_the_book(proof, demo):
    assert proof.districts == len(demo.districts) == 3
    assert proof.days == len(demo.turning_days()) > 1
    assert proof.items == len(demo.items) > 500
    assert proof.combinations > proof.districts * proof.days * proof.items
    assert proof.answers > 1000
    assert proof.walks > 1000


def test_combinations_counted_apart(proof, demo):
    """The same number by a second way: products of values, without going through them."""

    def number(item, district, day, known):
        table = demo.items[item].table_for(district)
        values = {**table.ask, **{c: tuple(demo.conditions[c].values) for c in table.assume}}
        free = [c for c in values if known.get(c) not in values[c]]
        fixed = {c: known[c] for c in values if c not in free}

        def below(left, facts):
            if left:
                head, *rest = left
                return sum(below(rest, {**facts, head: v}) for v in values[head])
            row = next(
                r
                for r in table.rows
                if r.period.holds(day) and all(facts[c] in v for c, v in r.when.items())
            )
            return number(row.see, district, day, {**known, **facts}) if row.see else 1

        return below(free, fixed)

    days = demo.turning_days()
    total = sum(number(i, d, day, {}) for i in demo.items for d in demo.districts for day in days)
    assert total == proof.combinations


# What is planted: file, passage and its replacement; then the line (the place of a passage in the
# planted text) and part of what is said of it.
DEFECTS = {
    "gap": (
        "items.yml",
        "      - when: {origin: takeaway}\n        goes: residual\n",
        "",
        "- when: {origin: home}",
        "no row of 'pizza_box' holds for some facts (origin: takeaway",
    ),
    "gap in time": (
        "items.yml",
        "      - when: {origin: takeaway}\n",
        "      - when: {origin: takeaway}\n        from: 2026-09-01\n",
        "- when: {origin: home}",
        "on 2026-04-01",
    ),
    "gap in one district": (
        "items.yml",
        "          - when: {damage: damaged}\n            goes: hold\n",
        "",
        "- when: {damage: sound}",
        "no row of 'battery (south)' holds",
    ),
    "gap in an assumed condition": (
        "items.yml",
        "      - when: {soiling: dirty}\n        goes: residual\n"
        "        why: Grease spoils paper.\n",
        "",
        "- when: {soiling: clean}",
        "no row of 'paper' holds for some facts (soiling: dirty",
    ),
    "overlap": (
        "items.yml",
        "      - when: {origin: takeaway}\n        goes: residual\n",
        "      - goes: residual\n",
        "- goes: residual",
        "more than one row of 'pizza_box' holds",
    ),
    "unreachable by facts": (
        "items.yml",
        "      - when: {origin: home}\n        see: box\n",
        "      - when: {origin: home}\n        see: box\n"
        "      - when: {origin: takeaway, soiling: dirty}\n        goes: hold\n"
        "        from: 2026-01-01\n        until: 2026-02-01\n",
        "- when: {origin: takeaway, soiling: dirty}",
        "lead to this row",
    ),
    "unreachable as every district has its own": (
        "items.yml",
        "        because: South has a bag.\n",
        "        because: South has a bag.\n        ask: [damage]\n        outcomes:\n"
        "          - when: {damage: sound}\n            goes: battery_bag\n"
        "          - when: {damage: damaged}\n            goes: hold\n"
        "      north:\n        because: North has none.\n",
        None,
        "lead to this row",
    ),
    "stream without a container": (
        "scheme.yml",
        "called: blue bin, takes: [card]",
        "called: blue bin, takes: [card], from: 2026-09-01",
        ("items.yml", "- when: {soiling: clean}"),
        "nothing in north takes 'card' that day (north on 2026-04-01",
    ),
    "bag where there is none": (
        "items.yml",
        "      - when: {damage: sound}\n        goes: centre\n",
        "      - when: {damage: sound}\n        goes: battery_bag\n",
        "      - when: {damage: sound}\n        goes: battery_bag\n      -",
        "nothing in north takes 'battery_bag'",
    ),
    "bag where there is none, as an alternative": (
        "items.yml",
        "        goes: centre\n",
        "        goes: centre\n        or: [battery_bag]\n",
        "      - when: {damage: sound}\n        goes: centre",
        "nothing in north takes 'battery_bag'",
    ),
    "hazard in a bin": (
        "items.yml",
        "        goes: centre\n",
        "        goes: residual\n",
        "      - when: {damage: sound}\n        goes: residual",
        "'battery' is a hazard (battery) and goes to the bin 'residual'",
    ),
    "hazard in a bin as an alternative": (
        "items.yml",
        "            or: [centre]\n",
        "            or: [centre, residual]\n",
        "          - when: {damage: sound}",
        "'battery' is a hazard (battery) and goes to the bin 'residual'",
    ),
    "hazard in a bin through another item": (
        "items.yml",
        "        goes: centre\n",
        "        see: letter\n",
        "- when: {soiling: clean}",
        "'letter' is a hazard (battery) and goes to the bin 'card'",
    ),
    "name of two items": (
        "items.yml",
        "    name: letter\n",
        "    name: letter\n    also: [Cartons]\n",
        "  letter:",
        "'Cartons' is a name of 'letter' and of 'box'",
    ),
    "name of two items, written otherwise": (
        "items.yml",
        "    name: letter\n",
        "    name: letter\n    also: [pizza-boxes]\n",
        "  pizza_box:",
        "'pizza box' is a name of 'pizza_box' and of 'letter'",
    ),
    "no reason": (
        "items.yml",
        "        why: Grease spoils paper.\n",
        "",
        "- when: {soiling: dirty}",
        "a row without 'why'",
    ),
    "no source": (
        "items.yml",
        "    source: Policy 2\n    why: A battery can burn.\n",
        "    why: A battery can burn.\n",
        "      - when: {damage: sound}\n        goes: centre",
        "a row without 'source'",
    ),
    "unknown placeholder": (
        "items.yml",
        "why: Grease spoils paper.",
        "why: Grease spoils {thing}.",
        "- when: {soiling: dirty}",
        "nothing fills '{thing}'",
    ),
    "placeholder in a question": (
        "items.yml",
        "question: Is it damaged?",
        "question: Is it, in the {container}, damaged?",
        "  damage:\n",
        "nothing fills '{container}'",
    ),
    "lone brace": (
        "items.yml",
        "why: Grease spoils paper.",
        "why: Grease spoils {paper.",
        "- when: {soiling: dirty}",
        "a brace without its partner",
    ),
    "container named where there is none": (
        "items.yml",
        "why: A battery can burn.",
        "why: It burns in the {container}.",
        "          - when: {damage: damaged}",
        "filled with nothing",
    ),
    "step split at a comma": (
        "items.yml",
        "prepare: [Flatten it.]",
        "prepare: [Flatten it, then tie it.]",
        "- when: {soiling: clean}",
        "the step 'then tie it.' does not start with a capital",
    ),
    "step without a full stop": (
        "items.yml",
        "prepare: [Flatten it.]",
        "prepare: [Flatten it]",
        "- when: {soiling: clean}",
        "the step 'Flatten it' does not end with a full stop",
    ),
    "step of a danger": (
        "scheme.yml",
        "emergency: It can burn.\n    prepare: [Call 999.]",
        "emergency: It can burn.\n    prepare: [call 999.]",
        "  battery:\n    name: batteries",
        "does not start with a capital",
    ),
    "value that no question offers": (
        "items.yml",
        "      damaged: {label: Damaged, says: [damaged]}",
        "      damaged: {label: Damaged, says: [damaged]}\n      odd: {label: Odd, says: [odd]}",
        None,
        "'damage' is asked, but no question offers 'odd'",
    ),
    "topic too long": (
        "scheme.yml",
        "    short: It is advice.\n",
        f"    short: {LONG}\n",
        "  tag:",
        "its 'short' takes 3 text messages",
    ),
    "change too long": (
        "scheme.yml",
        "    short: The lid changes.\n",
        f"    short: {LONG}\n",
        "  lid:",
        "its 'short' takes 3 text messages",
    ),
    "odd letters halve a message": (
        "scheme.yml",
        "    short: It is advice.\n",
        f"    short: It\u2019s advice. {LONG[:170]}\n",
        "  tag:",
        "its 'short' takes 3 text messages",
    ),
    "not reviewed for over a year": (
        "items.yml",
        "reviewed: 2026-06-02",
        "reviewed: 2025-11-24",
        "reviewed:",
        "over a year ago",
    ),
    "reviewed in the future": (
        "items.yml",
        "reviewed: 2026-06-02",
        "reviewed: 2026-11-26",
        "reviewed:",
        "after today",
    ),
}

# These need more than one passage replaced.
EXTRA = {
    "unreachable by facts": [
        ("    ask: [origin]\n", "    ask: [origin]\n    assume: {soiling: clean}\n")
    ],
    "value that no question offers": [
        (
            "        ask: [damage]\n        outcomes",
            "        ask: {damage: [sound, damaged]}\n        outcomes",
        ),
        (
            "    hazard: battery\n    ask: [damage]",
            "    hazard: battery\n    ask: {damage: [sound, damaged]}",
        ),
    ],
}

LINES = {
    "unreachable as every district has its own": (
        "      - when: {damage: sound}\n        goes: centre"
    ),
    "value that no question offers": "  damage:\n",
}


@pytest.mark.parametrize("name", DEFECTS)
def test_planted_defect_is_named_with_its_line(name):
    file, old, new, marker, said = DEFECTS[name]
    texts = planted(file, old, new)
    for more_old, more_new in EXTRA.get(name, ()):
        assert texts[file].count(more_old) == 1
        texts[file] = texts[file].replace(more_old, more_new)
    marker = marker or LINES[name]
    where, passage = marker if isinstance(marker, tuple) else (file, marker)
    line = line_of(texts[where], passage)

    findings = [f for f in proved(texts).errors if said in f"{f.what}"]
    assert findings, [str(f) for f in proved(texts).findings]
    assert Place(where, line) in [f.place for f in findings], [str(f) for f in findings]
    for finding in findings:
        assert finding.cure
        assert str(finding).startswith(f"{finding.place.file}, line {finding.place.line}: ")
        assert finding.cure in str(finding)


def test_safe_because_lets_a_hazard_into_a_bin():
    texts = planted(
        "items.yml",
        "        goes: centre\n",
        "        goes: residual\n        safe_because: The battery is out.\n",
    )
    assert [
        str(f)
        for f in proved(texts).errors
        if "goes to the bin" in f.what and "doubt" not in f.what
    ] == []


def test_safe_because_covers_its_own_row_only():
    texts = planted(
        "items.yml",
        "      - when: {damage: damaged}\n        goes: hold\n",
        "      - when: {damage: damaged}\n        goes: residual\n",
    )
    texts["items.yml"] = texts["items.yml"].replace(
        "        goes: centre\n",
        "        goes: residual\n        safe_because: The battery is out.\n",
    )
    lines = {f.place.line for f in proved(texts).errors if "goes to the bin 'residual'" in f.what}
    assert (
        line_of(texts["items.yml"], "      - when: {damage: damaged}\n        goes: residual")
        in lines
    )
    assert (
        line_of(texts["items.yml"], "      - when: {damage: sound}\n        goes: residual")
        not in lines
    )


def test_hazard_that_in_doubt_would_be_binned():
    """With `cautious` naming the safe value, the answer in doubt is a bin: refused."""
    texts = planted(
        "items.yml",
        "        goes: centre\n",
        "        goes: residual\n        safe_because: The battery is out.\n",
    )
    texts["items.yml"] = texts["items.yml"].replace(
        "    why: A battery can burn.\n",
        "    why: A battery can burn.\n    cautious: {damage: sound}\n",
    )
    said = [f.what for f in proved(texts).errors]
    assert any("in doubt goes to the bin 'residual'" in w for w in said), said


THREE_QUESTIONS = """
  thing:
    name: thing
    ask: [origin, damage, soiling]
    source: Policy 3
    why: It depends.
    outcomes:
      - when: {origin: home, damage: sound, soiling: clean}
        goes: card
      - when: {origin: home, damage: sound, soiling: dirty}
        goes: residual
      - when: {origin: home, damage: damaged, soiling: clean}
        goes: centre
      - when: {origin: home, damage: damaged, soiling: dirty}
        goes: hold
      - when: {origin: takeaway, damage: sound, soiling: clean}
        goes: residual
      - when: {origin: takeaway, damage: sound, soiling: dirty}
        goes: hold
      - when: {origin: takeaway, damage: damaged}
        goes: centre
"""


def test_three_questions_are_too_many():
    texts = {**TEXTS, "items.yml": ITEMS.rstrip("\n") + THREE_QUESTIONS}
    found = [f for f in proved(texts).errors if "may ask 3 questions" in f.what]
    assert [f.place for f in found] == [Place("items.yml", line_of(texts["items.yml"], "  thing:"))]


def test_value_that_the_next_table_does_not_know():
    """It could never be an answer, as the next table would take it for unsaid."""
    texts = planted(
        "items.yml",
        "      damaged: {label: Damaged, says: [damaged]}",
        "      damaged: {label: Damaged, says: [damaged]}\n      odd: {label: Odd, says: [odd]}",
    )
    texts["items.yml"] = texts["items.yml"].replace(
        "ask: [damage]", "ask: {damage: [sound, damaged]}"
    )
    assert proved(texts).errors != ()
    texts["items.yml"] += (
        "  word:\n    name: word\n    ask: [damage]\n    outcomes:\n      - see: battery\n"
    )
    found = proved(texts).errors
    assert [f.what for f in found] == [
        "'battery' does not know 'damage: odd', which this row hands over"
    ]
    assert found[0].place == Place("items.yml", line_of(texts["items.yml"], "- see: battery"))


def test_unused_condition_and_table_are_warnings():
    texts = {**TEXTS}
    texts["items.yml"] = ITEMS.replace(
        "tables:\n",
        "  spare:\n    question: Spare?\n    again: Spare?\n    short: Spare?\n    values:\n"
        "      a: {label: A, says: [a]}\n      b: {label: B, says: [b]}\n"
        "tables:\n  lonely:\n    outcomes:\n"
        "      - {goes: residual, why: None., source: Policy 1}\n",
    )
    proof = proved(texts)
    assert proof.errors == ()
    told = {f.place.line: f.what for f in proof.warnings}
    assert told == {
        line_of(texts["items.yml"], "  spare:"): "no table uses the condition 'spare'",
        line_of(texts["items.yml"], "  lonely:"): "no item follows the table 'lonely'",
    }
    assert all("(warning)" in str(f) for f in proof.warnings)


def test_answer_too_long_is_found_where_it_stands():
    proof = proved(TEXTS, short_form=lambda d: LONG if d.destination == "hold" else "Short.")
    lines = {f.place.line for f in proof.errors if "the answer takes 3 text messages" in f.what}
    assert line_of(ITEMS, "          - when: {damage: damaged}") in lines


def test_answers_read_include_the_alternatives_as_main():
    """An alternative becomes the main destination where the first will not do."""
    read = []
    proved(TEXTS, short_form=lambda d: read.append((d.item, d.destination, d.district)) or "Short.")
    assert ("battery", "battery_bag", "south") in read
    assert ("battery", "centre", "south") in read


def test_answers_read_include_the_cautious_ones():
    read = []
    proved(TEXTS, short_form=lambda d: read.append((d.item, d.unsettled)) or "Short.")
    assert ("battery", ("damage",)) in read


def test_all_defects_at_once():
    """One run tells everything."""
    text = ITEMS
    for name in ("no reason", "step split at a comma", "name of two items", "hazard in a bin"):
        _, old, new, _, _ = DEFECTS[name]
        text = text.replace(old, new)
    said = [f.what for f in proved({**TEXTS, "items.yml": text}).errors]
    for name in ("no reason", "step split at a comma", "name of two items", "hazard in a bin"):
        assert any(DEFECTS[name][4] in what for what in said), name


REAL_DEFECTS = [
    (
        "items/ash.yml",
        "      - when: {temperature: cold}\n",
        "      - when: {temperature: [cold, hot]}\n",
        "more than one row of 'ash' holds",
    ),
    (
        "items/ash.yml",
        "    name: stove or gas fire\n    also: [",
        "    name: stove or gas fire\n    also: [wood ashes, ",
        "'wood ashes' is a name of 'stove' and of 'ash'",
    ),
    (
        "districts/tarnside.yml",
        "        takes: [garden]\n",
        "        takes: [garden]\n        until: 2027-02-28\n",
        "nothing in tarnside takes 'garden' that day",
    ),
    (
        "districts/oxmere.yml",
        "{stream: film, from: 2027-03-31}",
        "{stream: film, from: 2027-04-01}",
        "nothing in oxmere takes 'film' that day (oxmere on 2027-03-31",
    ),
]


def test_defects_in_the_real_book(demo_texts):
    texts = dict(demo_texts)
    for file, old, new, _ in REAL_DEFECTS:
        assert old in texts[file], "the passage is no longer in the book"
        texts[file] = texts[file].replace(old, new, 1)
    errors = proved(texts).errors
    for file, _, _, said in REAL_DEFECTS:
        found = [f for f in errors if said in f.what]
        assert found, said
        assert all(f.place.line > 1 and f.cure for f in found), file


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("pizza box", "Pizza-Boxes", True),
        ("tea bag", "teabags", True),
        ("crème pot", "creme pots", True),
        ("child's toy", "child toy", True),
        ("battery", "batteries", True),
        ("glasses", "glass", False),
        ("gas", "ga", False),
        ("bus", "bu", False),
        ("card box", "card boxer", False),
        ("4 pack ring", "4-pack rings", True),
    ],
)
def test_names_as_they_are_compared(one, other, same):
    assert (name_key(one) == name_key(other)) is same


def test_a_year_old_to_the_day_is_still_good():
    texts = planted("items.yml", "reviewed: 2026-06-02", "reviewed: 2025-11-25")
    assert proved(texts).errors == ()


def test_review_on_the_29th_of_february():
    texts = {k: v.replace("reviewed: 2026-06-0", "reviewed: 2027-03-0") for k, v in TEXTS.items()}
    assert prove(load_texts(texts), date(2028, 2, 29)).errors == ()


def test_proof_is_the_same_twice():
    first, second = prove(small_book(), DAY), prove(small_book(), DAY)
    assert first.findings == second.findings
    assert first.combinations == second.combinations


def test_small_proof_is_quick():
    start = time.perf_counter()
    prove(small_book(), DAY)
    assert time.perf_counter() - start < 2
