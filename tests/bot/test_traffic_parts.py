"""Simulated residents without the assistant: phrases, seasons, habits, what counts as right."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime, timedelta, timezone
from functools import cache
from pathlib import Path
from typing import Any

import phonenumbers
import pytest
import typer
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from bot import paths
from bot.processes import Failed
from bot.traffic import answering, commands, days, openings
from bot.traffic.keyboard import slip
from bot.traffic.oracle import Meant, hear, truth
from bot.traffic.persons import Person, person, random_of
from bot.traffic.phrases import FOLDER, Want, bare, known, read, unknown
from bot.traffic.removal import remove
from bot.traffic.visits import MOST, Heard, Line, Visit
from rules import load
from rules.model import Book
from rules.names import name_key

FILES = sorted(FOLDER.glob("*.yml"))
DAY = date(2026, 12, 1)


@cache
def the_book() -> Book:
    return load()


@pytest.fixture
def book() -> Book:
    return the_book()


def texts(node: Any) -> Iterator[str]:
    """Every text of a YAML file, keys left out."""
    if isinstance(node, dict):
        for value in node.values():
            yield from texts(value)
    elif isinstance(node, list):
        for value in node:
            yield from texts(value)
    elif isinstance(node, str):
        yield node


def phrases(path: Path) -> list[str]:
    return list(texts(yaml.safe_load(path.read_text(encoding="utf-8"))))


def numbers(text: str) -> list[str]:
    """All that can be a British phone number, without the first nought (libphonenumber's reading,
    so lenient that numbers kept for drama count, which belong to nobody)."""
    lenient = phonenumbers.Leniency.POSSIBLE
    found = phonenumbers.PhoneNumberMatcher(text, "GB", leniency=lenient)
    return [n for n in (str(m.number.national_number) for m in found) if len(n) > 6]


# Phrases


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_phrases_name_no_number_or_address(path: Path) -> None:
    text = "\n".join(phrases(path)).lower()
    assert numbers(text) == []
    assert "@" not in text and "http" not in text and "www" not in text


def test_personal_data_is_of_the_ranges_kept_for_drama() -> None:
    """Ofcom keeps 07700 900000 to 900999 and 01632 960000 to 960999 for drama; RFC 2606 keeps
    example.com; no postcode area is ZZ (ONS's list of areas, from memory)."""
    rng = random.Random(5)
    seen = Counter[str]()
    for _ in range(600):
        text = openings.personal(rng, "where does a kettle go")
        assert "where does a kettle go" in text and "{" not in text
        for number in numbers(text):
            assert re.fullmatch(r"7700900\d{3}|1632960\d{3}", number), text
            seen["phone"] += 1
        for mail in re.findall(r"\S+@\S+", text):
            assert mail.endswith("@example.com")
            seen["mail"] += 1
        for code in re.findall(r"\b[A-Z]{1,2}\d{1,2} \d[A-Z]{2}\b", text):
            assert code.startswith("ZZ")
            seen["postcode"] += 1
    assert all(seen[kind] > 20 for kind in ("phone", "mail", "postcode"))


def test_phrases_are_not_the_training_or_held_out_data() -> None:
    """Of lines long enough not to be the same by chance."""
    others = " ".join(
        f.read_text(encoding="utf-8").lower()
        for f in sorted(paths.TRAINING.rglob("*"))
        if f.is_file()
    )
    lines = [p.lower() for f in FILES for p in phrases(f) if len(p.split()) >= 6]
    assert len(lines) > 80
    assert [line for line in lines if line in others] == []


def test_known_things_fit_the_rules(book: Book) -> None:
    for want in known():
        assert want.item in book.items, want
        for condition, values in want.facts:
            assert set(values) <= set(book.conditions[condition].values), want
        for _, facts in want.states:
            assert all(v in book.conditions[c].values for c, v in facts), want
        assert want.wrong is None or want.wrong in openings.STREAMS
    replies = read("replies")
    for condition, values in replies["replies"].items():
        assert set(values) <= set(book.conditions[condition].values), condition


def test_unknown_things_are_unknown(book: Book) -> None:
    names = {name_key(n) for i in book.items.values() for n in (i.name, *i.also)}
    for want in unknown():
        assert [s for s in (want.name, *want.say) if name_key(bare(s)) in names] == []
    assert len(unknown()) >= 60
    assert len({w.name for w in unknown()}) == len(unknown())
    several = [w for w in unknown() if len(w.say) >= 3]
    assert len(several) >= 30


# Days


def test_more_ask_by_day_than_by_night_and_agents_only_at_work() -> None:
    rng = random.Random(1)
    start, end = date(2026, 10, 12), date(2026, 11, 8)
    found = [days.moment(rng, start, end) for _ in range(2000)]
    assert {d.date() for d in found} == {start + timedelta(days=n) for n in range(28)}
    hours = Counter(d.hour for d in found)
    assert sum(hours[h] for h in range(17, 22)) > 5 * sum(hours[h] for h in range(0, 6))
    for _ in range(300):
        at = days.moment(rng, start, end, agents=True)
        assert at.weekday() < 5 and 8 <= at.hour < 17


def test_the_clock_on_the_wall_is_england_s() -> None:
    """British Summer Time ended on 25 October 2026 at 01:00 UTC (the last Sunday of October,
    Summer Time Act 1972 as amended)."""
    before = days.moment(random.Random(1), date(2026, 10, 24), date(2026, 10, 24))
    after = days.moment(random.Random(1), date(2026, 10, 26), date(2026, 10, 26))
    assert before.utcoffset() == timedelta(hours=1) and after.utcoffset() == timedelta(0)
    assert (after.astimezone(timezone.utc) - before.astimezone(timezone.utc)).days == 2


@pytest.mark.parametrize(
    ("season", "day", "more"),
    [
        ("christmas", "2026-12-25", True),
        ("christmas", "2027-01-03", True),
        ("christmas", "2026-07-01", False),
        ("garden", "2027-05-02", True),
        ("bonfire", "2026-11-05", True),
        ("film", "2027-03-31", True),
        ("film", "2026-03-31", False),
        ("tarnside_change", "2027-02-01", True),
        ("tarnside_change", "2026-11-01", False),
    ],
)
def test_seasons(season: str, day: str, more: bool) -> None:
    told = days.factor(season, date.fromisoformat(day))
    usual = read("seasons")["seasons"][season]["otherwise"]
    assert (told > usual) is more


def test_christmas_things_are_asked_at_christmas() -> None:
    def share(day: date) -> float:
        rng = random.Random(2)
        picked = [openings.want(rng, day, known()).season for _ in range(2000)]
        return picked.count("christmas") / len(picked)

    assert share(date(2026, 12, 27)) > 5 * share(date(2027, 6, 1))


# Habits


def someone(**told: Any) -> Person:
    at = datetime(2026, 12, 1, 10, tzinfo=days.HERE)
    base = dict(
        number=0,
        channel="webchat",
        district="tarnside",
        manner="plain",
        tells_district=True,
        slips=0.0,
        shorthand=0.0,
        lower=False,
        at=at,
    )
    return Person(**{**base, **told})


def asks(condition: str, values: dict[str, str], kind: str = "question") -> Heard:
    options = [{"value": v, "label": label} for v, label in values.items()]
    asked = {"item": "pizza_box", "condition": condition, "options": options}
    return Heard({"kind": kind, "items": [], "asks": asked}, tuple(values.values()))


FOOD = {"takeaway": "From a takeaway", "home": "Cooked at home"}


def test_a_question_is_answered_in_several_ways() -> None:
    rng = random.Random(3)
    ways = Counter[str]()
    for _ in range(400):
        for channel in ("webchat", "sms"):
            meant = Meant("known", known()[0])
            case = {"food_origin": "home"}
            told = answering.reply(
                rng, someone(channel=channel), asks("food_origin", FOOD), meant, case
            )
            if told is None:
                ways["left"] += 1
                assert meant.facts == {}
            elif told.text in read("replies")["vague"]:
                ways["vague"] += 1
                assert meant.facts == {}
            else:
                assert meant.facts == {"food_origin": "home"}
                kind = {"2": "digit", "Cooked at home": "label"}.get(told.text, "own")
                assert told.by_hand == (kind == "own")
                ways[f"{channel} {kind}"] += 1
    assert {"left", "vague", "webchat label", "webchat own", "sms digit", "sms own"} == set(ways)


def test_the_district_is_told_and_no_fact_of_the_thing() -> None:
    told = {"oxmere": "Oxmere", "tarnside": "Tarnside"}
    rng = random.Random(4)
    meant = Meant("known", known()[0])
    said = [answering.reply(rng, someone(), asks("district", told), meant, {}) for _ in range(60)]
    assert all("tarnside" in s.text.lower() for s in said if s and not s.vague)
    assert meant.facts == {}


def test_people_name_containers_of_their_district(book: Book) -> None:
    rng = random.Random(6)
    before = {openings.bin_named(rng, book, someone(), "card", DAY) for _ in range(50)}
    assert "white sack" in before and not any("yellow" in str(b) for b in before)
    near = {openings.bin_named(rng, book, someone(), "card", date(2027, 2, 3)) for _ in range(80)}
    assert any("yellow" in str(b) for b in near) and near & before


@given(st.integers(0, 10_000), st.from_regex(r"[a-z]{5,12}", fullmatch=True))
def test_a_slip_is_small(seed: int, word: str) -> None:
    slipped = slip(random.Random(seed), word)
    assert abs(len(slipped) - len(word)) <= 1
    assert slipped[0] == word[0]


@settings(deadline=None, max_examples=60)
@given(st.integers(0, 2_000))
def test_every_visit_ends_whatever_is_replied(number: int) -> None:
    """The replies are made up: now a question, now an answer, now not understood."""
    book = the_book()
    rng = random_of(1, DAY, DAY, number)
    visit = Visit(person(rng, number, tuple(book.districts), DAY, DAY), book, rng)
    talk, sent = visit.talk(), 0
    step = next(talk)
    while True:
        heard = None
        if isinstance(step, Line):
            sent += 1
            assert step.text.strip() and "{" not in step.text
            assert step.wait >= 0
            heard = (
                asks("food_origin", FOOD),
                Heard({"kind": "unclear", "items": [], "asks": None}, ("Kettle",)),
                Heard({"kind": "answer", "items": [], "asks": None}),
            )[(number + sent) % 3]
        try:
            step = talk.send(heard)
        except StopIteration:
            break
    assert 0 < sent <= MOST + 6


# What counts as right: the tables of the scheme


@pytest.mark.parametrize(
    ("item", "facts", "district", "day", "goes"),
    [
        ("pizza_box", {"food_origin": "takeaway"}, "pellbrook", "2026-12-01", "residual"),
        ("pizza_box", {"food_origin": "home"}, "oxmere", "2026-12-01", "mixed_recycling"),
        ("shredded_paper", {}, "oxmere", "2026-12-01", "residual"),
        ("crisp_packet", {}, "tarnside", "2027-03-30", "shop_take_back"),
        ("crisp_packet", {}, "tarnside", "2027-03-31", "containers"),
        ("household_battery", {}, "oxmere", "2026-12-01", "battery_bag"),
        ("ash", {}, "pellbrook", "2026-12-01", "hold"),
    ],
)
def test_truth(
    book: Book, item: str, facts: dict[str, str], district: str, day: str, goes: str
) -> None:
    meant = Meant("known", Want(item, item, 1, (item,)), facts)
    assert truth(book, district, date.fromisoformat(day), meant) == goes


def answer(kind: str, *items: tuple[str | None, str | None]) -> dict[str, Any]:
    return {"kind": kind, "items": [{"item": i, "destination": d} for i, d in items], "asks": None}


@pytest.mark.parametrize(
    ("item", "reply", "verdict"),
    [
        ("till_receipt", answer("answer", ("till_receipt", "residual")), "right"),
        ("till_receipt", answer("answer", ("till_receipt", "paper_card")), "wrong"),
        ("till_receipt", answer("question", ("till_receipt", None)), "open"),
        ("till_receipt", answer("question", ("kettle", "reuse"), ("till_receipt", None)), "open"),
        (
            "till_receipt",
            answer("answer", ("kettle", "residual"), ("till_receipt", "reuse")),
            "wrong",
        ),
        ("till_receipt", answer("referral"), "wrong"),
        (None, answer("cautious", (None, "residual")), "right"),
        (None, answer("answer", ("kettle", "residual")), "wrong"),
        (None, answer("cautious", (None, "paper_card")), "wrong"),
    ],
)
def test_verdicts(book: Book, item: str | None, reply: dict[str, Any], verdict: str) -> None:
    meant = Meant("known", Want(item, "thing", 1, ("thing",)))
    hear(meant, reply, book, "pellbrook", DAY)
    assert meant.verdict == verdict


def test_verdicts_of_what_is_no_thing(book: Book) -> None:
    for sort, kind, verdict in (
        ("danger", "emergency", "right"),
        ("danger", "answer", "wrong"),
        ("service", "referral", "right"),
        ("information", "unclear", "wrong"),
    ):
        meant = Meant(sort)
        hear(meant, answer(kind), book, "pellbrook", DAY)
        assert meant.verdict == verdict


# The command


def test_the_period() -> None:
    plan = commands.planned(1, 10, None, "2027-01-11", "2027-02-21")
    assert (plan.start, plan.end) == (date(2027, 1, 11), date(2027, 2, 21))
    plan = commands.planned(1, 10, 7, None, None)
    assert plan.end == date.today() - timedelta(days=1)
    assert (plan.end - plan.start).days == 6


@pytest.mark.parametrize(
    ("told", "says"),
    [
        ((None, "2027-01-11", None), "Give both days"),
        ((3, "2027-01-11", "2027-01-12"), "either --days"),
        ((None, "2027-01-11", "11 January"), "no date"),
        ((None, "2027-02-11", "2027-01-11"), "on or after"),
        ((None, "2020-02-11", "2027-01-11"), "within 400 days"),
    ],
)
def test_a_wrong_period_is_told_plainly(told: tuple[Any, ...], says: str) -> None:
    with pytest.raises(Failed, match=says):
        commands.planned(1, 10, *told)


def test_removing_from_an_empty_folder_makes_nothing(tmp_path: Path, capsys: Any) -> None:
    commands.taken_away(tmp_path)
    assert "no demo traffic" in capsys.readouterr().out
    assert list(tmp_path.iterdir()) == []
    assert remove(tmp_path / "none").answers == 0


def test_it_is_a_command() -> None:
    from bot.cli import app

    assert "demo-traffic" in typer.main.get_command(app).commands  # type: ignore[attr-defined]
