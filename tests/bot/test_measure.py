"""The measurement itself: what counts as right, as unsafe, as believable; the held-out files."""

from __future__ import annotations

import re
from typing import Any

import pytest
import yaml

from bot import paths
from bot.measure import heldout, reliability
from bot.measure.fulltext import FullText
from bot.measure.heldout import Thing, Turn
from bot.measure.scoring import DECIDES, Tally, is_right, unsafe
from rules import load

BOOK = load()
HAZARDS = frozenset({"vape"})


def turn(*things: Thing, kind: str = "answer") -> Turn:
    return Turn("x", "ask", frozenset({kind}), things)


def thing(item: str, *destinations: str, **facts: str) -> Thing:
    items = frozenset({item} if item else ())
    return Thing(
        items, None, {c: frozenset({v}) for c, v in facts.items()}, frozenset(destinations)
    )


def answer(*pairs: tuple[str | None, str | None], kind: str = "answer") -> dict[str, Any]:
    items = [{"item": i, "destination": d, "facts": {}} for i, d in pairs]
    return {"kind": kind, "items": items}


def test_right_needs_kind_places_and_order() -> None:
    expected = turn(thing("mug", "reuse"), thing("jar", "containers"))
    assert is_right(answer(("mug", "reuse"), ("jar", "containers")), expected)
    assert not is_right(answer(("jar", "containers"), ("mug", "reuse")), expected)
    assert not is_right(answer(("mug", "reuse")), expected)
    assert not is_right(answer(("mug", "reuse"), ("jar", "containers"), kind="cautious"), expected)


def test_two_names_of_one_rule_may_share_an_entry() -> None:
    expected = turn(thing("letter", "paper_card"), thing("letter", "paper_card"))
    assert is_right(answer(("letter", "paper_card")), expected)


@pytest.mark.parametrize(
    ("got", "expected", "harm"),
    [
        (answer(("vape", "residual")), turn(thing("vape", "shop_take_back")), "hazard to a bin"),
        (answer(("cup", "paper_card")), turn(thing("cup", "residual")), "contaminant to recycling"),
        (answer((None, "containers")), turn(thing("", "residual")), "unknown to recycling"),
        (answer(("vape", "residual")), turn(kind="emergency"), "danger not seen"),
    ],
)
def test_unsafe_answers_are_found(got: dict[str, Any], expected: Turn, harm: str) -> None:
    assert harm in unsafe(got, expected, HAZARDS)


def test_wrong_but_harmless_is_not_unsafe() -> None:
    got = answer(("mug", "residual"))
    assert unsafe(got, turn(thing("mug", "reuse")), HAZARDS) == []


def test_tally_counts_things_and_conditions() -> None:
    tally = Tally(HAZARDS, {"mug": frozenset({"usable"})})
    got = answer(("mug", "residual"))
    got["items"][0]["facts"] = {"usable": "broken"}
    tally.turn(got, turn(thing("mug", "residual", usable="broken")))
    tally.turn(answer(("mug", "residual")), turn(thing("mug", "residual", usable="broken")))
    assert (tally.items, tally.conditions, tally.turns) == ([2, 2], [1, 2], [2, 2])


def test_calibration_error_of_known_pairs() -> None:
    """By hand: 0.9 said twice, right once, and 0.6 said once, right: (2 x 0.4 + 0.4) / 3."""
    pairs = [(0.9, True), (0.9, False), (0.6, True)]
    assert reliability.calibration_error(pairs) == pytest.approx(0.4)


def test_every_intent_is_meant_by_something() -> None:
    domain = yaml.safe_load(paths.DOMAIN.read_text(encoding="utf-8"))
    intents = {next(iter(i)) if isinstance(i, dict) else i for i in domain["intents"]}
    assert set().union(*reliability.MEANT.values()) == intents


def test_full_text_search_finds_a_name_and_decides() -> None:
    found = FullText(BOOK).answer("old newspapers", "pellbrook", BOOK.scheme.starts)
    assert [(i["item"], i["destination"]) for i in found["items"]] == [("newspaper", "paper_card")]


def test_held_out_files_are_well_formed() -> None:
    """Ids, conditions, values and destinations are those of the book; no message stands twice."""
    said: list[tuple[str, str]] = []
    codes = set(BOOK.destinations) | {"emergency"}
    count = 0
    for c in heldout.conversations():
        count += 1
        for t in c.turns:
            said.append((c.id, t.say))
            assert t.intent in reliability.MEANT
            for x in t.things or ():
                assert x.items <= set(BOOK.items), (c.id, x.items)
                assert (x.destinations or set()) <= codes, c.id
                assert x.said is None or x.said in t.say, (c.id, x.said)
                for condition, values in x.facts.items():
                    assert values <= set(BOOK.conditions[condition].values), (c.id, condition)
    assert count >= 150
    assert len(said) >= 600
    assert len(set(said)) == len(said)
    assert len(heldout.unrelated()) >= 1000


def test_long_held_out_messages_stand_in_no_training_file() -> None:
    """Short everyday messages ("egg boxes") may be the same by chance; long ones may not."""
    plain = re.compile(r"\[([^\]]*)\]\([^)]*\)")
    training = set()
    for path in (*paths.TRAINING.glob("*.yml"), *paths.TRAINING.glob("*.txt")):
        for line in path.read_text(encoding="utf-8").splitlines():
            training.add(plain.sub(r"\1", line.strip().removeprefix("- ")).lower())
    messages = [t.say for c in heldout.conversations() for t in c.turns] + heldout.unrelated()
    same = [m for m in messages if len(m.split()) > 9 and m.strip().lower() in training]
    assert same == []


def test_kinds_that_decide_are_those_of_the_contract() -> None:
    assert {"answer", "cautious", "question", "emergency"} == DECIDES
