"""The officer's page that asks as if on a day: the same assistant, and what it went by."""

from __future__ import annotations

import re

import pytest

from bot.officer.previews import Previews, place_of
from bot.record.store import Record
from rules import load
from tests.bot.officer import NEEDS, officer, officer_driver, see, staff  # noqa: F401
from tests.bot.staff import Staff, with_account

PAGE = "/officer/preview"


def conversation(body):
    found = re.search(r'name="conversation" value="(preview-[0-9a-f]{24})"', body)
    assert found, body
    return found[1]


def last(body):
    """The last turn, its text alone."""
    turn = body.split('id="last"')[1].split("</section>")[0]
    return " ".join(re.sub(r"<[^>]+>", " ", turn).split())


def reply(body):
    """What residents would read of the last turn."""
    turn = body.split('id="last"')[1].split('<div class="preview-reply">')[1].split("</div>")[0]
    return " ".join(re.sub(r"<[^>]+>", " ", turn).split())


@pytest.mark.parametrize(
    ("on", "district", "bin_name"),
    [
        ("2027-01-31", "tarnside", "white sack"),
        ("2027-02-01", "tarnside", "grey bin with a yellow lid"),
        ("2027-02-01", "oxmere", "bin with an orange lid"),
    ],
)
def test_answer_is_the_days_and_the_districts(staff, site, on, district, bin_name):  # noqa: F811
    body = staff.send(PAGE, question="an old newspaper", on=on, district=district)
    assert bin_name in reply(body)
    words = [
        m["text"] for m in site.say("an old newspaper", on=on, district=district) if "text" in m
    ]
    assert reply(body) == " ".join(" ".join(words).split())
    assert "Source" in last(body) and "items/paper_card.yml" in last(body)


def test_conversation_goes_on_and_its_options_are_buttons(staff):  # noqa: F811
    first = staff.send(PAGE, question="a pizza box", on="2027-02-01", district="pellbrook")
    assert '<button class="quiet" name="pick" value="From a takeaway">' in first
    assert "not decided yet" in last(first)
    told = {"conversation": conversation(first), "on": "2027-02-01", "district": "pellbrook"}
    second = staff.send(PAGE, pick="From a takeaway", **told)
    assert conversation(second) == conversation(first)
    assert "dark grey bin" in reply(second)
    assert "From a takeaway" in last(second) and "items/paper_card.yml" in last(second)
    again = staff.send(PAGE, question="and a crisp packet?", **{**told, "on": "2027-04-01"})
    assert "teal bin" in reply(again)


def test_short_form_is_the_text_message(staff, site):  # noqa: F811
    asked = {"on": "2027-02-01", "district": "oxmere"}
    body = staff.send(PAGE, question="AA batteries", form="short", **asked)
    words = [m["text"] for m in site.say("AA batteries", channel="sms", **asked) if "text" in m]
    assert reply(body) == " ".join(" ".join(words).split())
    assert "as a text message" in last(body)


def test_record_can_tell_it_from_residents_questions(staff, running):  # noqa: F811
    body = staff.send(PAGE, question="a milk bottle", on="2027-02-01", district="oxmere")
    (entry,) = Record(running.data).of(conversation(body))
    assert entry.channel == "preview"
    assert entry.on == "2027-02-01"
    assert entry.book and entry.book in last(body)


def test_assumed_and_unknown_are_told(staff):  # noqa: F811
    body = staff.send(PAGE, question="an empty crisp packet", on="2027-01-10", district="oxmere")
    assert "Taken as given" in last(body)
    body = staff.send(PAGE, question="a didgeridoo", on="2027-01-10", district="oxmere")
    assert "Not in the rules" in last(body) and "cautious" in last(body)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"question": "  "}, "Type a question first."),
        ({"question": "tin", "on": "2027-02-31"}, "That is not a date."),
        ({"question": "tin", "district": "westmarch"}, "There is no such district."),
        ({"question": "tin " * 600}, "Make it shorter."),
    ],
)
def test_wrong_form_says_what_to_mend_and_keeps_what_was_typed(staff, fields, said):  # noqa: F811
    body = staff.send(PAGE, status=400, **fields)
    assert said in body
    assert f'value="{fields["question"].strip()}"' in body


def test_what_is_typed_is_shown_as_text(staff):  # noqa: F811
    body = staff.send(PAGE, question="<script>alert(1)</script> & a tin", on="2027-02-01")
    assert "<script>alert" not in body
    assert "&lt;script&gt;alert" in body


def test_another_officers_conversation_is_not_shown(staff, site, running):  # noqa: F811
    body = staff.send(PAGE, question="a milk bottle", on="2027-02-01", district="oxmere")
    with_account(running.data, "other-officer", "officer")
    other = Staff(site.address, "/officer").sign_in("other-officer")
    there = other.page(f"{PAGE}?c={conversation(body)}")
    assert "milk bottle" not in there and "preview-turn" not in there


def test_no_more_than_so_many_are_kept():
    previews = Previews()
    first = previews.start("ann")
    for _ in range(200):
        previews.start("ann")
    assert previews.get(first.id, "ann") is None
    assert len(previews.kept) == 200


def test_rule_is_found_in_its_file():
    book = load()
    table = book.items["crisp_packet"].table
    told = {"rule": "items/film.yml: film, row 2"}
    assert place_of(book, told) == ("items/film.yml", table.rows[1].where.line)
    assert place_of(book, {"rule": "items/film.yml: film, row 99"}) == ("items/film.yml", None)
    assert place_of(book, {"rule": "scheme.yml: fallback"}) == ("scheme.yml", None)
    assert place_of(book, {"rule": None}) == (None, None)


@NEEDS
def test_page_is_accessible_and_works_by_keyboard(officer):  # noqa: F811
    for width in (360, 1280):
        officer.size(width, 900)
        see(officer, PAGE)
        assert officer.violations() == [] and officer.too_wide() <= 0
        officer.one("#question").send_keys("pizza box and a dead kettle\n")
        officer.until(lambda: officer.all(".preview-turn"), "the reply is there")
        assert officer.violations() == [] and officer.too_wide() <= 0
        officer.all(".preview-options button")[1].send_keys("\n")
        officer.until(lambda: len(officer.all(".preview-turn")) == 2, "the next reply is there")
        assert officer.violations() == [] and officer.too_wide() <= 0
