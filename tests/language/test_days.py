"""Days named in a message."""

from __future__ import annotations

from datetime import date

import pytest
from reading import understood

from actions.turn import day_named
from bot.language.reader import Reader

NAMED = [
    ("from april 2027", "2027-04-01"),
    ("FROM APRIL 2027", "2027-04-01"),
    ("in April", "0000-04-01"),
    ("next february", "0000-02-01"),
    ("on 3 december", "0000-12-03"),
    ("2027-02-10", "2027-02-10"),
    ("bread bags on 2027-02-10 please", "2027-02-10"),
    ("10/02/2027", "2027-02-10"),
    ("10.2.27", "2027-02-10"),
    ("31 march 2027", "2027-03-31"),
    ("31st march 2027", "2027-03-31"),
    ("on the 31st of March", "0000-03-31"),
    ("1st feb 2027", "2027-02-01"),
    ("the 5th of november", "0000-11-05"),
    ("may 2027", "2027-05-01"),
    ("in may", "0000-05-01"),
    ("3 may", "0000-05-03"),
    ("what about sept 2027", "2027-09-01"),
    ("by 1 april 2028", "2028-04-01"),
    ("mar 2027", "2027-03-01"),
    ("tarnside 1 february", "0000-02-01"),
    ("12 jars in june", "0000-06-01"),
    ("today", "now"),
    ("and now?", "now"),
]


@pytest.mark.parametrize(("text", "day"), NAMED)
def test_day_named(text: str, day: str, reader: Reader) -> None:
    assert understood(reader, text).days == (day,)


@pytest.mark.parametrize(
    "text",
    [
        "may i put jars in",
        "in the marching band",
        "a marching drum",
        "31/13/2027",
        "2027-13-45",
        "99/99/2027",
        "0/0/0",
        "1 2 3",
        "12 jars",
        "20 egg boxes",
        "AAA batteries",
        "I am at number 12",
        "it is 3 years old",
        "the second one",
        "juneberry jam jar",
        "1/2 a tin of paint",
        "3/4 full paint tin",
    ],
)
def test_no_day(text: str, reader: Reader) -> None:
    assert understood(reader, text).days == ()


def test_two_days(reader: Reader) -> None:
    found = understood(reader, "3 december and 4 january").days
    assert found == ("0000-12-03", "0000-01-04")


def test_words_of_a_day_are_no_unknown_thing(reader: Reader) -> None:
    for text, _ in NAMED[:-2]:
        u = understood(reader, f"bread bag, {text}")
        assert not {n.said for n in u.unknown} & set(text.split()) - {"next"}, text


@pytest.mark.parametrize(
    ("text", "today", "day"),
    [
        ("2027-02-10", date(2026, 12, 1), date(2027, 2, 10)),
        ("0000-02-01", date(2026, 12, 1), date(2027, 2, 1)),
        ("0000-12-03", date(2026, 12, 1), date(2026, 12, 3)),
        ("0000-12-01", date(2026, 12, 1), date(2026, 12, 1)),
        ("0000-11-30", date(2026, 12, 1), date(2027, 11, 30)),
        ("now", date(2026, 12, 1), date(2026, 12, 1)),
        ("2027-02-31", date(2026, 12, 1), date(2026, 12, 1)),
        ("0000-02-29", date(2027, 3, 1), date(2028, 2, 29)),
        ("0000-12-31", date(9999, 1, 1), date(9999, 12, 31)),
    ],
)
def test_year_is_the_next_one_to_come(text: str, today: date, day: date) -> None:
    assert day_named(text, today) == day


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("March 31", "0000-03-31"),
        ("march the 3rd", "0000-03-03"),
        ("2027/02/03", "2027-02-03"),
        ("03-02-2027", "2027-02-03"),
    ],
)
def test_other_ways_to_write_a_day(text: str, day: str, reader: Reader) -> None:
    assert understood(reader, text).days == (day,)
