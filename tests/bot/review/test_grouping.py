"""The same thing asked in different words is one group; two things are two.

The labelled phrases were written by hand. The names in the rule book are another check: its
officers, not this code, said which of them are one thing.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
import yaml

from bot.review.form import form_of, same
from bot.review.group import Groups
from bot.review.measure import as_typed, ours, score, token_set

LABELLED = yaml.safe_load(Path(__file__).with_name("labelled.yml").read_text(encoding="utf-8"))
PARTS = sorted(LABELLED)


def test_there_are_enough_phrases():
    assert sum(len(ps) for part in LABELLED.values() for ps in part.values()) >= 150


@pytest.mark.parametrize("part", PARTS)
def test_better_than_plainer_ways(part):
    """As typed, only the very same words are together: never wrongly, and of little use."""
    found, _ = score(LABELLED[part], ours)
    likeness, _ = score(LABELLED[part], token_set)
    typed, _ = score(LABELLED[part], as_typed)
    assert found.recall > likeness.recall > typed.recall
    assert found.precision > likeness.precision


def test_names_of_different_items_are_seldom_put_together(book):
    """What this puts together that the book keeps apart is at most a few in a hundred pairs of
    what the book has as one: things that differ in what the officer's rules turn on."""
    chosen = random.Random(11).sample(sorted(book.items), 90)
    names = {i: [book.items[i].name, *book.items[i].also[:6]] for i in chosen}
    found, told = score(names, ours)
    plainer, _ = score(names, token_set)
    assert found.right > 50
    assert found.precision > plainer.precision, told


@pytest.mark.parametrize("word", ["theremin", "weather vane", "bag of gravel", "yurt stove"])
def test_likeness_holds_both_ways(word):
    phrases = [p for part in LABELLED.values() for ps in part.values() for p in ps]
    for other in phrases:
        one, two = form_of(word), form_of(other)
        assert same(one, two) == same(two, one), other
        assert same(one, one)


def test_keys_stay_whatever_comes_later():
    phrases = [p for part in LABELLED.values() for ps in part.values() for p in ps]
    random.Random(5).shuffle(phrases)
    first = Groups()
    keys = {p: first.key(form_of(p)) for p in phrases[:80]}
    # Another run, with what was kept, meets all of them, in another order and among new ones.
    random.Random(6).shuffle(phrases)
    again = Groups(first.fresh)
    later = {p: again.key(form_of(p)) for p in phrases}
    assert {p: later[p] for p in keys} == keys
    assert not {form_of(p).digest for p in keys} & set(again.fresh)


def test_known_forms_draw_later_ones_though_their_own_questions_are_gone():
    form = form_of("an electric fence energiser")
    groups = Groups(known={"words-kept": [form]})
    assert groups.key(form_of("energisers for my electric fence")) == "words-kept"
    assert groups.key(form_of("electric fence post")) != "words-kept"


def test_same_for_the_same_phrases():
    phrases = [p for ps in LABELLED["unseen"].values() for p in ps]
    assert ours(phrases) == ours(phrases)


@pytest.mark.parametrize("text", ["", "?!", "12", "🍕", "the", "a of my", "'s", "x" * 3000])
def test_odd_words_have_a_form(text):
    form = form_of(text)
    assert not form or form.words
    assert Groups().key(form).startswith("words-")


@pytest.mark.parametrize(
    ("one", "two", "together"),
    [
        ("archery target, straw", "straw archery target", True),
        ("rack, wine", "wine rack", True),
        ("pipe organ", "organ pipe", False),
        ("paper shredder", "garden shredder", False),
        ("bottle that had paint in it", "bottle that had milk in it", False),
        ("the thing you crush garlic with", "the thing you unblock drains with", False),
        ("beads", "beading", False),
    ],
)
def test_what_tells_things_apart(one, two, together):
    assert same(form_of(one), form_of(two)) == together


def test_messages_nobody_understood_go_by_their_content_words():
    one, two = form_of("pls tell me wot to do with a theremin??"), form_of("theremin help")
    assert same(one, two)
    assert not same(one, form_of("pls tell me wot to do with a sextant"))
