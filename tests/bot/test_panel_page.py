"""The agents' panel in a real browser, against the running assistant.

axe-core checks what a program can check of WCAG 2.2 AA.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from bot.remarks import Remarks
from tests.bot import browser
from tests.bot.browser import Page
from tests.bot.staff import PASSWORD, with_account

pytestmark = pytest.mark.skipif(
    bool(browser.missing()), reason=f"{browser.missing()} is not installed"
)

NAME = "page-agent"
WIDTH = 360


@pytest.fixture(scope="module")
def chrome(tmp_path_factory):
    driver = browser.start(tmp_path_factory.mktemp("panel-profile"))
    yield driver
    driver.quit()


@pytest.fixture
def page(chrome, site, running) -> Iterator[Page]:
    with_account(running.data, NAME)
    page = Page(chrome, site.address)
    page.fresh()
    page.size(WIDTH)
    yield page
    # A refusal is an error to the browser's console; here some are meant.
    assert [
        c for c in page.complaints() if "the server responded with a status of 4" not in c
    ] == []
    assert page.hosts() <= {page.host}
    if page.js("return document.body && document.body.dataset.ready"):
        page.js("document.getElementById('sign-out').click()")
        page.until(lambda: page.shown("#name"), "the sign-in page is back")


def keys(page: Page, *typed: str) -> None:
    ActionChains(page.driver).send_keys(*typed).perform()


def press(page: Page, letter: str) -> None:
    held = ActionChains(page.driver).key_down(Keys.ALT).key_down(Keys.SHIFT)
    held.send_keys(letter).key_up(Keys.SHIFT).key_up(Keys.ALT).perform()


def ask(page: Page, text: str) -> None:
    """Ask the assistant, whatever items match."""
    keys(page, text)
    held = ActionChains(page.driver).key_down(Keys.CONTROL)
    held.send_keys(Keys.ENTER).key_up(Keys.CONTROL).perform()


def click(page: Page, css: str) -> None:
    """Click what the band at the top may lie over."""
    page.js("arguments[0].click()", page.one(css))


def ready(page: Page) -> bool:
    return page.js("return document.body.dataset.ready") == "yes"


def enter(page: Page) -> None:
    """Sign in, with the keyboard alone."""
    page.open("/panel")
    page.one("#name").send_keys(NAME)
    keys(page, Keys.TAB, PASSWORD, Keys.ENTER)
    page.until(lambda: ready(page), "the panel is set up")
    assert page.focused() == "find"


def look_up(page: Page, text: str) -> None:
    keys(page, text)
    page.until(lambda: page.shown("#matches [aria-selected=true]"), "an item is chosen")
    keys(page, Keys.ENTER)
    page.until(lambda: page.shown("#item"), "the item is open")


def district(page: Page, name: str) -> None:
    """Choose with the keys: the arrows move in a group of choices."""
    press(page, "l")
    for _ in range(5):
        if page.js("return document.activeElement.value") == name:
            return
        keys(page, Keys.ARROW_RIGHT)
    raise AssertionError(f"{name} cannot be reached")


def sound(page: Page) -> None:
    assert page.violations() == []
    assert page.too_wide() <= 0


def reply(page: Page, count: int) -> Any:
    page.until(lambda: len(page.all(".reply")) >= count, "a reply came")
    return page.all(".reply")[-1]


def test_sign_in_page_takes_paste_and_password_managers(page):
    """WCAG 2.2, 3.3.8: nothing has to be remembered or copied by hand."""
    page.open("/panel")
    assert page.one("h1").text == "Sign in"
    assert page.one("#name").get_attribute("autocomplete") == "username"
    assert page.one("#password").get_attribute("autocomplete") == "current-password"
    assert not page.all("[onpaste]")
    sound(page)
    page.one("#name").send_keys(NAME)
    page.one("#password").send_keys("not the pass phrase" + Keys.ENTER)
    page.until(lambda: page.shown("#told"), "it says what is wrong")
    assert page.one("#told").aria_role == "alert"
    assert page.one("#name").get_attribute("value") == NAME
    assert page.one("#password").get_attribute("aria-describedby") == "told"
    sound(page)


def test_whole_work_by_keyboard_alone(page, running):
    enter(page)
    sound(page)
    district(page, "tarnside")
    keys(page, Keys.ESCAPE)
    assert page.focused() == "find"

    # As they type, items match; the arrows go through them.
    keys(page, "piz")
    page.until(lambda: page.shown("#matches"), "items match")
    box = page.one("#find")
    assert box.get_attribute("aria-expanded") == "true"
    first = page.one(f"#{box.get_attribute('aria-activedescendant')}")
    assert first.text.startswith("pizza box") and first.get_attribute("aria-selected") == "true"
    sound(page)
    keys(page, Keys.ARROW_DOWN)
    assert box.get_attribute("aria-activedescendant") == "match-1"
    keys(page, Keys.ARROW_UP, Keys.ENTER)

    # Enter gives the whole table, the careful row chosen.
    page.until(lambda: page.shown("#item"), "the item is open")
    assert page.one("#item-name").text == "Pizza box"
    rows = page.all("#item > div > .decisions tbody tr")
    assert len(rows) == 6 and "does not know" in rows[-1].text
    assert "White sack" in page.one("#item > div > .decisions tbody").text
    assert "From 1 February 2027: grey bin with a yellow lid, not white sack." in page.one(
        "#item .notice"
    ).text.replace("\n", " ")
    assert page.one(".sentence").text.startswith("The pizza box goes in the navy bin.")
    assert "items/paper_card.yml: pizza_box, row 5" in page.one(".proof").text
    sound(page)

    # The arrows choose a row, and its sentence is the one to read out.
    keys(page, Keys.ARROW_UP, Keys.ARROW_UP, Keys.ARROW_UP, Keys.ARROW_UP)
    assert (
        page.one(".sentence").text
        == "The pizza box goes in the white sack. Take out the tray or film."
    )

    # Wrong or missing, with a note.
    press(page, "w")
    page.until(lambda: page.shown(".doing-form"), "the form is open")
    sound(page)
    keys(page, "The lid too?")
    page.one(".doing-form:not([hidden]) textarea").submit()
    page.until(lambda: "Sent to the officer" in page.one(".readout .done").text, "it was sent")
    kept = Remarks(running.data / "remarks.db").all()[-1]
    assert (kept.note, kept.district, kept.question) == ("The lid too?", "tarnside", "Pizza box")
    assert kept.reply["items"][0]["container"] == "white sack"

    # Copied, and no text without a gateway.
    press(page, "c")
    page.until(
        lambda: (
            "Cop" in page.one(".readout .done").text or "copy" in page.one(".readout .done").text
        ),
        "it says so",
    )
    press(page, "m")
    page.until(lambda: "not set up" in page.one(".readout .done").text, "it says how")

    # Next caller: everything is gone.
    before = page.js("return JSON.parse(sessionStorage['lidwise-panel']).caller")
    press(page, "n")
    assert page.focused() == "find" and not page.shown("#item")
    assert page.js("return document.querySelector('input[name=district]:checked').value") == ""
    assert page.js("return JSON.parse(sessionStorage['lidwise-panel']).caller") != before


def test_question_goes_to_the_assistant_and_on(page):
    enter(page)
    keys(page, "does a pizza box go in with the cardboard?")
    page.until(lambda: page.shown("#matches"), "the list is there")
    keys(page, Keys.ENTER)
    asked = reply(page, 1)
    assert "takeaway" in asked.text
    page.until(
        lambda: page.js("return document.activeElement.textContent") == "From a takeaway",
        "the first choice has the focus",
    )
    sound(page)
    keys(page, Keys.ENTER)
    told = reply(page, 2)
    assert "residual" not in told.text and "Pizza box" in told.text
    assert page.focused() == "more-text"
    keys(page, "why?", Keys.ENTER)
    assert "grease" in reply(page, 3).text
    sound(page)


def test_emergency_of_a_caller_is_an_alert(page):
    enter(page)
    ask(page, "battery smoking in her hall")
    told = reply(page, 1)
    alarm = told.find_element(By.CSS_SELECTOR, "[role=alert]")
    assert alarm.text.startswith("Call 999 now.")
    sound(page)


def test_later_day_and_other_districts(page):
    enter(page)
    district(page, "tarnside")
    keys(page, Keys.ESCAPE)
    look_up(page, "pizza box")
    click(page, "#item .notice button")
    page.until(lambda: page.shown("#as-on"), "the day is told")
    page.until(lambda: "Grey bin with a yellow lid" in page.one("#item").text, "the other answer")
    assert not page.all("#item .notice")
    fold = next(f for f in page.all("#item .fold") if "Other districts" in f.text)
    page.js("arguments[0].click()", fold.find_element(By.TAG_NAME, "summary"))
    assert "Bin with an orange lid" in fold.text and "Pellbrook" in fold.text
    sound(page)
    click(page, "#as-on button")
    page.until(lambda: not page.shown("#as-on"), "today again")


def test_unknown_district_asks_for_it_first(page):
    enter(page)
    look_up(page, "cereal box")
    assert "where do you live?" in page.one(".ask-first").text
    assert not page.shown(".readout")
    assert len(page.all("#item > div > .decisions")) == 3
    sound(page)
    page.js("arguments[0].click()", page.all("#item input[type=radio]")[0])
    assert page.shown(".readout")


@pytest.mark.parametrize(
    ("width", "features", "size"),
    [
        (320, {}, "100%"),
        (640, {}, "200%"),
        (360, {"prefers_color_scheme": "dark"}, "100%"),
        (360, {"forced_colors": "active"}, "100%"),
        (360, {"prefers_reduced_motion": "reduce"}, "100%"),
        (1200, {}, "100%"),
    ],
)
def test_every_look_is_sound(page, width, features, size):
    page.size(width)
    page.look(**features)
    enter(page)
    page.js("document.documentElement.style.fontSize = arguments[0]", size)
    sound(page)
    look_up(page, "packaging")
    sound(page)
    keys(page, Keys.ESCAPE)
    ask(page, "old paint")
    reply(page, 1)
    sound(page)
    # WCAG 2.2, 2.5.8: 24 by 24 CSS pixels for what is pressed, links in sentences aside.
    small = page.js(
        "return [...document.querySelectorAll('button, summary, .segment, .pick, .switch')]"
        ".filter((e) => e.getClientRects().length && !e.closest('.unseen'))"
        ".map((e) => [e.getBoundingClientRect(), e.outerHTML.slice(0, 80)])"
        ".filter(([r]) => r.width < 24 || r.height < 24)"
    )
    assert small == []


def test_keys_can_be_turned_off(page):
    """WCAG 2.2, 2.1.4."""
    enter(page)
    look_up(page, "kettle")
    click(page, "#keys summary")
    click(page, "#keys-on")
    press(page, "n")
    assert page.shown("#item")
    click(page, "#keys-on")
    press(page, "n")
    page.until(lambda: not page.shown("#item"), "the key works again")


def test_server_that_cannot_be_reached_is_told(page):
    enter(page)
    page.offline(True)
    keys(page, "kettle")
    page.until(lambda: page.shown("#trouble"), "it says so")
    assert "cannot be reached" in page.one("#trouble").text
    assert page.one("#find").get_attribute("value") == "kettle"
    sound(page)
    page.offline(False)
    keys(page, Keys.ENTER)
    page.until(lambda: page.shown("#item"), "it goes on")


def test_session_that_ends_soon_is_told_with_a_way_to_stay(page):
    enter(page)
    page.js(
        "const real = fetch; window.fetch = async (path, told) => path === '/panel/session' && "
        "(!told || told.method === 'GET') ? new Response(JSON.stringify({left: 90, last: 9000})) : "
        "real(path, told);"
    )
    page.until(lambda: page.shown("#ending"), "it warns", 40)
    assert "signed out in 2 minutes" in page.one("#ending-text").text
    assert page.focused() == "stay"
    sound(page)
    keys(page, Keys.ENTER)
    page.until(lambda: not page.shown("#ending"), "the warning goes")


def test_session_that_ended_leads_to_the_form(page, running):
    enter(page)
    from bot.access.accounts import Accounts

    Accounts(running.data).remove(NAME)
    keys(page, "kettle")
    page.until(lambda: page.shown("#name"), "the sign-in page")
    assert "signed out" in page.one("#told").text


def test_link_in_the_call_system_leads_to_the_panel(page):
    enter(page)
    page.driver.get(f"data:text/html,<a id=link href={page.address}/panel>Panel</a>")
    page.one("#link").click()
    page.until(lambda: ready(page), "the panel is there, without signing in again")


# ---- chats, from both sides


@pytest.fixture
def resident(tmp_path_factory, site) -> Iterator[Page]:
    driver = browser.start(tmp_path_factory.mktemp("resident-profile"))
    other = Page(driver, site.address)
    other.size(WIDTH)
    yield other
    complaints = other.complaints()
    driver.quit()
    assert complaints == []


def test_chat_from_both_sides(page, resident):
    enter(page)
    resident.open("/?district=oxmere")
    resident.ask("can I talk to a human")
    offer = resident.all("#log .options button")[-1]
    assert offer.text == "Ask for a person"
    resident.ask(" my old kettle")
    resident.one("#person").click()
    resident.until(lambda: "asked for a person" in resident.one("#log").text, "it is told")

    page.until(lambda: page.one("#chat-count").text == "1", "the panel shows it")
    press(page, "h")
    page.until(lambda: page.shown("#chat-list li"), "the list")
    assert (
        "Oxmere" in page.one("#chat-list").text and "my old kettle" in page.one("#chat-list").text
    )
    sound(page)
    page.one("[data-act^=read]").click()
    page.until(lambda: page.shown("#chat-lines .resident"), "the chat so far")
    assert "only reading" in page.one("#chat-about").text
    sound(page)
    page.one("#chat-acts .main-button").click()
    page.until(lambda: page.shown("#chat-form"), "it is taken")
    page.until(lambda: page.focused() == "chat-text", "the answer box has the focus")
    keys(page, "Hello, I can help." + Keys.ENTER)
    resident.until(lambda: resident.all(".from-person"), "the resident reads it")
    assert "Hello, I can help." in resident.all(".from-person")[-1].text
    assert resident.one("#person").text == "Leave the person"

    bots = len(resident.replies())
    resident.type("It still has its base.")
    page.until(
        lambda: "It still has its base." in page.one("#chat-lines").text, "the agent reads it"
    )
    assert len(resident.replies()) == bots
    assert resident.violations() == [] and resident.too_wide() <= 0
    sound(page)

    resident.type("help, it has caught fire!!")
    resident.until(lambda: resident.all(".alarm"), "the assistant tells of the danger")
    page.until(lambda: "Call 999 now" in page.one("#chat-lines").text, "the agent sees it")

    resident.driver.refresh()
    resident.until(resident.ready, "the page is back")
    resident.until(lambda: resident.one("#person").text == "Leave the person", "still in the chat")
    keys(page, "Are you safe?" + Keys.ENTER)
    resident.until(lambda: "Are you safe?" in resident.one("#log").text, "the chat goes on")

    next(b for b in page.all("#chat-acts button") if b.text == "End chat").click()
    resident.until(
        lambda: "The assistant answers again." in resident.one("#log").text, "it is told"
    )
    page.until(lambda: page.shown("#no-chats"), "no chat is left")
    told = resident.ask("pizza box")
    assert "takeaway" in told.text


def test_without_an_agent_the_page_tells_hours_and_number(resident, site):
    resident.open("/")
    resident.until(
        lambda: site.json("/api/person")["staffed"] is False, "no agent is there any more", 70
    )
    resident.one("#person").click()
    resident.until(lambda: "01632 960118" in resident.one("#log").text, "it is told")
    assert "Monday to Friday" in resident.one("#log").text
    assert resident.one("#person").text == "Ask for a person"
    assert resident.violations() == []


def test_two_columns_show_chats_beside_the_item(page):
    page.size(1200)
    enter(page)
    assert page.shown("#look") and page.shown("#chats")
    sound(page)
