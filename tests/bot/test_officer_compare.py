"""The officer's page to compare rules and days, in the browser and without one."""

from __future__ import annotations

import json

import jsonschema
import pytest

from bot import paths
from bot.record import books
from rules.loader import BOOK, load_texts, read_files
from tests.bot.officer import NEEDS, fits, officer, officer_driver, see, staff  # noqa: F401
from tests.bot.staff import Staff, with_account

FILM = "old=force&old_on=2027-03-30&new=force&new_on=2027-03-31"
SCHEMA = json.loads((paths.PROJECT / "rules" / "comparison.schema.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def kept(running):
    """The version of a kept book in which crisp packets have another reason."""
    texts = read_files(BOOK)
    film = texts["items/film.yml"]
    other = film.replace("Larger shops collect soft plastic.", "Big shops collect it.")
    assert other != film
    texts["items/film.yml"] = other
    version = load_texts(texts).version
    books.keep(running.data, texts, version)
    return version


def test_agent_cannot_compare(site, running):
    with_account(running.data, "comparing-agent")
    agent = Staff(site.address, "/panel").sign_in("comparing-agent")
    status, _, body = agent.request("/officer/compare/comparison.json?" + FILM)
    assert (status, "What differs" in body) == (401, False)


def test_form_is_there_and_nothing_is_compared_yet(staff):  # noqa: F811
    body = staff.page("/officer/compare")
    assert "The rules in force (" in body
    assert 'id="result"' not in body
    assert "on 1 February 2027" in body and "on 31 March 2027" in body


def test_two_days_in_plain_words_and_tables(staff):  # noqa: F811
    body = " ".join(staff.page(f"/officer/compare?{FILM}").split())
    assert "From 30 March 2027 to 31 March 2027." in body
    assert "Cling film and bin bags still go in general waste." in body
    assert "Bread bag, bubble wrap, carrier bag, cereal bag and 19 more" in body
    assert '<td data-what="Before">shop take-back</td>' in body
    assert '<td data-what="After">the teal bin</td>' in body
    assert "All 23 items" in body and "crisp packet" in body


def test_district_leaves_out_the_others(staff):  # noqa: F811
    body = staff.page("/officer/compare?old=force&old_on=2027-01-31&new=force&new_on=2027-02-01")
    assert "white sack" in body
    only = staff.page(
        "/officer/compare?old=force&old_on=2027-01-31&new=force&new_on=2027-02-01&district=oxmere"
    )
    assert "Nothing differs" in only and "white sack" not in only


def test_kept_book_against_the_rules_in_force(staff, kept):  # noqa: F811
    body = staff.page(f"/officer/compare?old={kept}&new=force")
    assert "“Big shops collect it. From 31 March 2027 you can recycle it at home.”" in body
    assert "until 30 March 2027" in body


def test_download_is_the_same_as_json(staff):  # noqa: F811
    status, headers, body = staff.request(f"/officer/compare/comparison.json?{FILM}")
    assert status == 200
    assert "attachment" in {k.lower(): v for k, v in headers.items()}["content-disposition"]
    told = json.loads(body)
    jsonschema.validate(told, SCHEMA)
    assert told["new"]["on"] == "2027-03-31" and not told["same"]
    assert [c["id"] for c in told["announced"]] == ["film_2027"]


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("old=abcdef&new=force", "is not kept any more"),
        ("old=../../etc&new=force", "is not kept any more"),
        ("old=force&new=force&old_on=2027-02-30", "One of the days is not a date"),
        ("old=force&new=force&district=westmarch", "no such district"),
    ],
)
def test_wrong_address_says_what_to_choose(staff, query, said):  # noqa: F811
    assert said in staff.page(f"/officer/compare?{query}", status=400)
    status, _, body = staff.request(f"/officer/compare/comparison.json?{query}")
    assert status == 400 and said in json.loads(body)["error"]


@NEEDS
def test_page_is_accessible_and_fits(officer):  # noqa: F811
    fits(officer, "/officer/compare")
    fits(officer, f"/officer/compare?{FILM}")


@NEEDS
def test_link_of_a_day_ahead_leads_to_what_changes(officer):  # noqa: F811
    officer.size(1280)
    see(officer, "/officer/compare")
    link = next(a for a in officer.all("main a") if a.text == "on 1 February 2027")
    link.send_keys("\n")
    officer.until(lambda: officer.all("#result"), "the result is there")
    assert "the teal bin instead of the green box" in officer.words(officer.one("#result"))


@NEEDS
def test_form_compares_two_books(officer, kept):  # noqa: F811
    officer.size(360)
    see(officer, "/officer/compare")
    options = [o.get_attribute("value") for o in officer.all("#old option")]
    assert kept in options
    assert officer.one("#old").get_attribute("value") != "force"
    officer.one(".compare-form .main-button").send_keys("\n")
    officer.until(lambda: officer.all("#result"), "the result is there")
    assert "Big shops collect it." in officer.words(officer.one("#result"))
