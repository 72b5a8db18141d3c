"""What comparisons say of the demo book, against what the scheme announces."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from comparing import Told, agree, nothing_missed

from rules.compare import compare
from rules.loader import load_texts

FILM_DAY, TARNSIDE_DAY = date(2027, 3, 31), date(2027, 2, 1)
DAY = timedelta(days=1)

# The scheme's section "Film and soft plastics", read there.
BECOMES_RECYCLED = [
    "carrier bag",
    "bread bag",
    "bubble wrap",
    "film lid",
    "frozen-food bag",
    "salad bag",
    "multipack wrap",
    "magazine wrap",
    "crisp packet",
    "sweet wrapper",
]
STAYS = ["cling film", "bin bag", "pet-food pouch", "baby-food pouch", "refuse sack"]


def all_changes(comparison):
    """Every change, those told with another one, too."""
    return [c for one in comparison.answers for c in (one, *one.details)]


@pytest.fixture(scope="module")
def film(demo):
    return compare(demo, demo, old_on=FILM_DAY - DAY, new_on=FILM_DAY)


@pytest.fixture(scope="module")
def tarnside(demo):
    return compare(demo, demo, old_on=TARNSIDE_DAY - DAY, new_on=TARNSIDE_DAY)


def test_film_goes_to_the_containers_stream_from_31_march_2027(demo, film):
    told = Told(film.to_json())
    for name in BECOMES_RECYCLED:
        item = demo.named(name)
        for district in demo.districts:
            code = "mixed_recycling" if district == "oxmere" else "containers"
            apart = told.about((item, item), district).apart({"soiling": "clean"})
            assert apart["goes"] == ("shop_take_back", code), (name, district)
            assert apart["others"] == (("residual",), None)
    assert {c.span.start for c in all_changes(film)} == {FILM_DAY}


def test_other_film_stays_as_it_was_that_day(demo, film):
    named = {i.ids[1] for c in all_changes(film) for i in c.items}
    assert not named & {demo.named(name) for name in STAYS}
    assert {demo.named(name) for name in BECOMES_RECYCLED} <= named


def test_film_is_told_in_one_line(film):
    (line,) = [x for x in film.lines() if "carrier bag" in x and "shop take-back" in x]
    assert line.startswith("Bread bag, bubble wrap, carrier bag, ")
    assert line.endswith(
        " more, in every district, from 31 March 2027: the bin with an orange lid (Oxmere) or the "
        "teal bin (Pellbrook and Tarnside) instead of shop take-back."
    )


def test_only_tarnsides_two_containers_change_on_1_february_2027(demo, tarnside):
    assert {c.aspect for c in tarnside.answers} == {"container"}
    assert {d for c in tarnside.answers for d in c.districts} == {"tarnside"}
    # The scheme's table of containers.
    assert {(f.names) for c in tarnside.answers for i in c.items for f in i.found} == {
        (("white sack",), ("grey bin with a yellow lid",)),
        (("green box",), ("teal bin",)),
    }
    assert [(c.stream, c.old, c.new) for c in tarnside.containers] == [
        ("card", "white sack", "grey bin with a yellow lid"),
        ("containers", "green box", "teal bin"),
    ]
    assert not tarnside.entries


@pytest.mark.parametrize("day", [FILM_DAY, TARNSIDE_DAY])
def test_the_slow_way_finds_the_same_in_the_whole_book(demo, film, tarnside, day):
    comparison = film if day == FILM_DAY else tarnside
    pairs = [(i, i) for i in demo.items]
    told = Told(comparison.to_json())
    looked, differing = agree(demo, demo, told, (day - DAY, day), pairs, most=12)
    assert looked > 5_000
    assert differing > 50
    assert nothing_missed(demo, demo, told, (day - DAY, day), pairs[::5], most=3) > 2_000


def test_each_announced_change_is_there_on_its_day(demo):
    assert len(demo.changes) == 3
    for announced in demo.changes.values():
        comparison = compare(demo, demo, old_on=announced.on - DAY, new_on=announced.on)
        assert [c.id for c in comparison.announced] == [announced.id]
        changed = {c.district for c in comparison.containers}
        assert changed == set(announced.districts)
        named = {c.new for c in comparison.containers}
        assert named and all(name in announced.answer for name in named)
        if announced.on > demo.scheme.starts:
            where = {d for c in comparison.answers for d in c.districts} - {None}
            assert where == set(announced.districts)


def test_nothing_else_is_announced_or_changes(demo):
    """Between the days that are announced the book stays as it is."""
    days = sorted(c.on for c in demo.changes.values())
    for start, end in zip(days, [*days[1:], date(2035, 1, 1)], strict=True):
        assert not compare(demo, demo, old_on=start, new_on=end - DAY)


def test_two_days_far_apart_tell_when_each_change_comes(demo):
    comparison = compare(demo, demo, old_on=date(2026, 12, 1), new_on=date(2027, 6, 1))
    days = {c.aspect: c.span.start for c in comparison.answers}
    assert days["container"] == TARNSIDE_DAY
    assert days["goes"] == FILM_DAY
    assert [c.on for c in comparison.announced] == [TARNSIDE_DAY, FILM_DAY]


def test_a_date_put_off_is_told_with_its_end(demo, demo_texts):
    later = {
        k: v.replace("2027-03-31", "2027-07-01").replace("2027-03-30", "2027-06-30")
        for k, v in demo_texts.items()
    }
    comparison = compare(demo, load_texts(later), since=date(2026, 11, 29))
    (head,) = [c for c in comparison.answers if c.aspect == "goes"]
    assert "from 31 March 2027 until 30 June 2027: shop take-back instead of" in head.say
    assert len(head.items) == 23
    assert "Announcement for 1 July 2027, the day: 1 July 2027 instead of 31 March 2027." in [
        e.say for e in comparison.entries
    ]


def test_district_and_item_leave_out_the_rest(demo):
    days = {"old_on": FILM_DAY - DAY, "new_on": FILM_DAY}
    one = compare(demo, demo, district="oxmere", item="crisp_packet", **days)
    assert {i.ids for c in all_changes(one) for i in c.items} == {("crisp_packet",) * 2}
    assert {d for c in all_changes(one) for d in c.districts} == {"oxmere"}
    assert not compare(demo, demo, item="cling_film", **days)


def test_whole_books_are_compared_in_seconds(demo, demo_texts):
    """Every reason in the book is another one, on every day: the most there can be."""
    from time import process_time

    other = load_texts({k: v.replace("why: ", "why: Now, ") for k, v in demo_texts.items()})
    start = process_time()
    comparison = compare(demo, other, since=date(2026, 3, 1))
    spent = process_time() - start
    items = {i.ids for c in all_changes(comparison) for i in c.items}
    assert len(items) > 600
    assert spent < 20
