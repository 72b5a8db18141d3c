"""The review list in a browser, against the running assistant: from a question to a change.

axe-core checks what a program can check of WCAG 2.2 AA.
"""

from __future__ import annotations

import html
import re

import pytest
from selenium.webdriver.common.keys import Keys

from bot.changes.store import Changes
from bot.record.entry import TABLE
from bot.remarks import TABLE as REMARKS
from bot.remarks import Remarks
from tests.bot.officer import NEEDS, fits, officer, officer_driver, see, staff  # noqa: F401
from tests.bot.review.rows import keep, left, row, unknown
from tests.bot.staff import Staff, with_account
from tests.bot.waiting import until

LIST = "/officer/review"


@pytest.fixture(scope="module", autouse=True)
def things(running):
    """Questions of residents; gone again afterwards."""
    record = keep(
        running.data,
        *(unknown("my gran's old astrolabe", channel="sms", district=d) for d in ("oxmere", None)),
        unknown("brass astrolabes", demo=True),
        unknown("a loom", rule="dangers.yml: powered", goes="recycling_centre"),
        row("wot abt <b>it</b>", "unclear"),
        left("paint", "contents", "old paint"),
        unknown("a preview of a thing", channel="preview"),
    )
    remarks = Remarks(running.data / "remarks.db")
    reply = {"items": [{"item": "duvet", "asked_as": "duvets", "destination": "emergency"}]}
    about = {"channel": "webchat", "conversation": "review-x", "question": "duvets"}
    remarks.add("wrong", reply=reply, note="It is <i>wrong</i>.", **about)
    yield
    with record.engine.begin() as connection:
        connection.execute(TABLE.delete().where(TABLE.c.conversation.like("review-%")))
        connection.execute(TABLE.delete().where(TABLE.c.conversation.like("resident-%")))
    with remarks.engine.begin() as connection:
        connection.execute(REMARKS.delete().where(REMARKS.c.conversation == "review-x"))


def links(page: str) -> dict[str, str]:
    """The groups of a list by what they are called."""
    found = re.findall(r'<a href="(/officer/review/[a-z0-9_-]+)">([^<]+)</a>', page)
    return {html.unescape(title).strip("‘’"): path for path, title in found}


def of(staff, title):  # noqa: F811
    return links(staff.page(LIST + "?state=any"))[title]


def test_list_has_each_thing_once_and_no_trial(staff):  # noqa: F811
    page = staff.page(LIST)
    found = links(page)
    assert {"astrolabe", "loom", "wot abt <b>it</b>", "Duvet"} <= set(found)
    assert "preview of a thing" not in page and "<b>it</b>" not in page
    assert "asked 3 times" in page and "Hazard: powered" in page


def test_filters_and_what_they_cannot_read(staff):  # noqa: F811
    assert "astrolabe" in links(staff.page(LIST + "?channel=sms&district=none"))
    assert "astrolabe" not in links(staff.page(LIST + "?why=unclear"))
    assert "astrolabe" in links(staff.page(LIST + "?from=2026-11-20&to=2026-11-20"))
    assert "astrolabe" not in links(staff.page(LIST + "?to=2026-11-19"))
    odd = LIST + "?why=x&district=x&from=yesterday&state=x&order=x&page=x&page=99"
    assert "astrolabe" in links(staff.page(odd))


def test_group_shows_what_was_asked_and_understood(staff):  # noqa: F811
    page = staff.page(of(staff, "Duvet"))
    assert "It is &lt;i&gt;wrong&lt;/i&gt;." in page
    assert 'href="/officer/rules/items/home.yml#L' in page
    assert 'href="/officer/conversations/review-x"' in page
    assert "Today’s rules answer otherwise" in page
    astrolabe = staff.page(of(staff, "astrolabe"))
    assert "Oxmere (1)" in astrolabe and "brass astrolabes" in astrolabe
    assert "a hazard" in staff.page(of(staff, "loom"))
    for gone in ("words-0000000000", "x", "%2e%2e"):
        assert "no such page" in staff.page(f"{LIST}/{gone}", status=404)


def test_refusals_keep_what_was_typed(staff):  # noqa: F811
    path = of(staff, "astrolabe")
    told = staff.send(f"{path}/name", 400, names="pizza box", other="duvet")
    assert "already a name" in told and "pizza box</textarea>" in told and 'value="duvet"' in told
    assert "Choose the item" in staff.send(f"{path}/name", 400, names="astrolabe")
    assert "Say why" in staff.send(f"{path}/decide", 400, state="dismissed", because=" ")
    assert "Choose what to do" in staff.send(f"{path}/decide", 400, state="burnt")
    told = staff.send(f"{path}/item", 400, name="astrolabe", goes="residual", hazard="battery")
    assert "may not go in a bin" in told and "Choose the section" in told
    assert 'value="astrolabe"' in told and 'value="residual" selected' in told


def test_dismissed_and_taken_up_again(staff):  # noqa: F811
    path = of(staff, "wot abt <b>it</b>")
    told = staff.send(f"{path}/decide", state="dismissed", because="Says <nothing>.")
    assert "needs no rule" in told and path not in links(told).values()
    assert "Says &lt;nothing&gt;." in staff.page(LIST + "?state=dismissed")
    assert "in the list again" in staff.send(f"{path}/decide", state="reopened")
    assert path in links(staff.page(LIST)).values()


def test_only_officers(site, running):
    with_account(running.data, "review-agent")
    agent = Staff(site.address, "/officer")
    agent.try_sign_in("review-agent")
    for path in (LIST, f"{LIST}/item-duvet", f"{LIST}/item-duvet/item"):
        assert agent.request(path)[0] == 403
        assert Staff(site.address, "/officer").request(path)[0] == 401
    for path in ("name", "item", "decide"):
        assert agent.request(f"{LIST}/item-duvet/{path}", b"", "POST")[0] == 403


def test_from_residents_question_to_the_right_answer(site, running, staff):  # noqa: F811
    """The whole way: asked, unknown, accepted, in force, answered, off the list."""
    asked = ["where does my theremin go", "which bin for an old theremin", "a theramin, which bin?"]
    for number, question in enumerate(asked):
        answer = site.answer(question, f"resident-{number}", district="oxmere")
        assert answer["items"][0]["item"] is None
    path = of(staff, "theremin")
    # Other tests may have asked this assistant for it, too.
    (times,) = re.findall(r"<dt>Asked</dt><dd>(\d+) times", staff.page(path))
    assert int(times) >= 3
    page = staff.send(f"{path}/name", other="duvet", names="theremin")
    assert "Nothing is in force until" in page and "where does my theremin go" in page
    assert f'href="{path}"' in page
    changes = Changes(running.data, running.rules)
    (change,) = [c for c in changes.all() if c.about.get("review") == path.rsplit("/", 1)[1]]
    assert change.by == "page-officer" and f'value="{change.digest}"' in page
    assert path in staff.page(LIST + "?state=waiting")
    before = {n: changes.places.text(n) for n in change.files}
    try:
        staff.send(f"/officer/changes/{change.id}/apply", seen=change.digest)
        until(lambda: known(site), "the new name is known", 120)
        until(lambda: path in staff.page(LIST + "?state=mended"), "it is off the list")
        assert path not in staff.page(LIST)
    finally:
        changes.places.write(before)
        until(lambda: not known(site), "the rules are as before", 120)


def known(site) -> bool:
    return site.answer("where does a theremin go", district="oxmere")["items"][0]["item"] == "duvet"


@NEEDS
@pytest.mark.parametrize("title", [None, "loom", "Duvet", "paint: Is the paint empty?"])
def test_pages_are_accessible_and_fit(officer, staff, title):  # noqa: F811
    if title is None:
        return fits(officer, LIST)
    found = links(staff.page(LIST))
    path = next(p for t, p in found.items() if t.lower().startswith(title.lower()[:5]))
    fits(officer, path)


@NEEDS
def test_form_of_a_new_item_is_accessible_and_fits_right_and_wrong(officer, staff):  # noqa: F811
    path = of(staff, "loom") + "/item"
    fits(officer, path)
    officer.js("document.querySelector('form[action$=item]').noValidate = true")
    officer.one("#name").clear()
    officer.one("form .main-button").click()
    officer.until(lambda: officer.all("[aria-invalid]"), "the mistakes are told")
    assert officer.violations() == []
    assert officer.one("#name").get_attribute("aria-describedby") == "name-wrong"


@NEEDS
def test_by_keyboard_alone(officer, staff):  # noqa: F811
    """A group is opened, and put off, with Tab and Enter."""
    officer.size(1280)
    see(officer, LIST)
    path = of(staff, "loom")

    def tab_to(true):
        for _ in range(120):
            officer.driver.switch_to.active_element.send_keys(Keys.TAB)
            if true():
                return officer.driver.switch_to.active_element
        raise AssertionError("not reached with Tab")

    def here(script):
        return lambda: officer.js(f"const e = document.activeElement; return {script}")

    tab_to(here(f"(e.getAttribute('href') || '') === '{path}'")).send_keys(Keys.ENTER)
    officer.until(lambda: officer.all("#because"), "the group is open")
    tab_to(here("e.value === 'later'")).send_keys(Keys.ENTER)
    there = "return document.body ? document.body.innerText : ''"
    officer.until(lambda: "is put off" in officer.js(there), "it is put off")
    assert path not in links(staff.page(LIST)).values()
    staff.send(f"{path}/decide", 200, state="reopened")
