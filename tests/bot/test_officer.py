"""The frame of the officer's pages: who gets in, and what all pages share."""

from __future__ import annotations

import json
import urllib.parse

import pytest
from selenium.webdriver.common.by import By

from bot.officer.shell import PARTS, long_day
from tests.bot.officer import NEEDS, fits, officer, officer_driver, see, staff  # noqa: F401
from tests.bot.staff import Staff, with_account


def test_agent_gets_no_officers_page(site, running):
    with_account(running.data, "just-agent")
    agent = Staff(site.address, "/officer")
    assert agent.try_sign_in("just-agent")[0] == 403
    assert "role “officer”" in agent.page("/officer", status=403)
    assert "error" in json.loads(agent.request("/officer")[2])


def test_nobody_is_sent_to_sign_in(site):
    stranger = Staff(site.address, "/officer")
    assert 'action="/officer/sign-in"' in stranger.page("/officer")
    assert stranger.request("/officer")[0] == 401


def test_form_that_comes_too_late_says_so_and_changes_nothing(site, staff):  # noqa: F811
    stranger = Staff(site.address, "/officer")
    assert "signed out" in stranger.send("/officer/sign-out", status=401)
    staff.token = "wrong"
    assert "too old" in staff.send("/officer/sign-out", status=403)


def test_signing_out_by_form_ends_at_the_sign_in_page(staff):  # noqa: F811
    assert "You are signed out." in staff.send("/officer/sign-out")
    assert staff.request("/officer")[0] == 401


def test_days_are_written_out():
    assert long_day("2027-02-01") == "1 February 2027"
    assert long_day("2026-12-31T23:00:00+00:00") == "31 December 2026"


def test_every_link_of_the_navigation_leads_to_a_page(staff):  # noqa: F811
    for _, pages in PARTS:
        for name, label in pages:
            body = staff.page(f"/officer/{name}")
            assert f'href="/officer/{name}" aria-current="page">{label}<' in body


@pytest.mark.parametrize(
    "path",
    [
        "review?page=²",
        f"review?page={'9' * 5000}",
        "review?why=x&from=0000-00-00&district=%F0%9F%97%91",
        "review/nothing-here",
        "conversations?day=9999-12-31",
        "conversations?day=0001-01-01&page=-1",
        "asked?from=9999-12-31&to=0001-01-01",
        "asked?channel=%00&district=x",
        "compare?old=zzz&new_on=2027-02-31",
        "preview?on=x&district=x",
        "publish?on=0001-01-01",
        "changes/nothing",
        "rules/my%20file.yml",
        "rules/..%2f..%2fetc/passwd",
        "rules/items/ash.yml?change=nothing",
        "examples/new?conversation=nothing",
    ],
)
def test_odd_address_is_no_failure(staff, path):  # noqa: F811
    status = staff.request(f"/officer/{urllib.parse.quote(path, safe='/?&=%')}", accept="text/html")
    assert status[0] in (200, 400, 404), status


@NEEDS
def test_frame_is_accessible_and_fits(officer):  # noqa: F811
    fits(officer, "/officer")


@NEEDS
def test_menu_opens_by_keyboard_on_a_phone(officer):  # noqa: F811
    officer.size(360)
    see(officer, "/officer")
    assert not officer.one(".side").is_displayed()
    menu = officer.one(".menu summary")
    menu.send_keys("\n")
    links = officer.all(".menu a")
    assert links and all(link.is_displayed() for link in links)
    assert officer.driver.find_element(By.CSS_SELECTOR, ".skip").get_attribute("href")
