"""The chat page in a real browser, against the running assistant."""

from __future__ import annotations

import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from rules import load
from tests.bot import browser
from tests.bot.browser import Page
from tests.bot.conftest import BOOK

pytestmark = pytest.mark.skipif(
    bool(browser.missing()), reason=f"{browser.missing()} is not installed"
)

PIZZA = "does a pizza box go in with the cardboard"
DAY = "on=2026-12-01"


def names(elements) -> list[str]:
    return [e.text for e in elements]


def open_in(page: Page, district: str) -> None:
    page.open(f"/?district={district}&{DAY}")


def test_page_opens_with_the_districts_and_the_message_box(page):
    page.open("/")
    assert page.one("h1").text == "Which bin? Ask Lidwise"
    assert sorted(names(page.all(".choice"))) == ["I don’t know", "Oxmere", "Pellbrook", "Tarnside"]
    assert page.one("#message").accessible_name == "Ask about an item or a bin"
    assert page.one("#log").aria_role == "log"
    assert not page.shown("#clear")


def test_question_with_choices_and_an_answer_by_button(page):
    page.open("/")
    page.one("input[value=pellbrook]").click()
    page.one("#district-save").click()
    assert page.one("#district-now").text == "Pellbrook"

    asked = page.ask(PIZZA)
    assert "takeaway" in asked.text and asked.text.count("?") == 1
    assert names(page.options(asked)) == ["From a takeaway", "Cooked at home"]
    assert page.one("#log .options").aria_role == "group"

    answer = page.next_reply(page.options(asked)[0].click)
    assert answer.find_element(By.TAG_NAME, "h3").text == "Dark grey bin"
    assert "Pizza box" in answer.text and "For Pellbrook" in answer.text
    assert [e.text for e in page.all("#log .bubble")] == [f"You:\n{PIZZA}", "You:\nFrom a takeaway"]
    assert not any(b.is_enabled() for b in page.options(page.replies()[0]))
    assert page.focused() == "message"


def test_question_answered_in_own_words(page):
    open_in(page, "oxmere")
    page.ask(PIZZA)
    answer = page.ask("a freezer one we did in the oven")
    assert answer.find_element(By.TAG_NAME, "h3").text == "Bin with an orange lid"
    assert "as on 1 December 2026" in answer.text
    assert page.one("#as-on-text").text == "Answers as on 1 December 2026."


def test_district_chosen_by_the_answer_to_a_question(page):
    page.open(f"/?{DAY}")
    asked = page.ask("cereal boxes")
    here = next(b for b in page.options(asked) if b.text == "Tarnside")
    answer = page.next_reply(here.click)
    assert answer.find_element(By.TAG_NAME, "h3").text == "White sack"
    assert page.one("#district-now").text == "Tarnside"


def test_conversation_survives_a_reload_and_can_be_cleared(page):
    open_in(page, "pellbrook")
    page.ask("hello there")
    page.ask(PIZZA)
    page.one("#message").send_keys("it was a take")
    before = page.words(page.one("#log"))
    sender = page.js("return JSON.parse(sessionStorage['lidwise-chat']).sender")

    page.driver.refresh()
    page.until(page.ready, "the page is back")
    assert page.words(page.one("#log")) == before
    assert page.one("#message").get_property("value") == "it was a take"
    assert all(b.is_enabled() for b in page.options(page.replies()[-1]))
    answer = page.ask("away")
    assert answer.find_element(By.TAG_NAME, "h3").text == "Dark grey bin"

    page.one("#clear").click()
    page.one("dialog button[value=keep]").click()
    assert len(page.replies()) == 3
    page.one("#clear").click()
    page.one("dialog button[value=clear]").click()
    page.until(lambda: not page.all("#log > *"), "the log is empty")
    assert page.focused() == "message"
    assert page.one("#district-now").text == "Pellbrook"
    assert page.js("return JSON.parse(sessionStorage['lidwise-chat']).sender") != sender
    page.driver.refresh()
    page.until(page.ready, "the page is back")
    assert page.all("#log > *") == []


def test_emergency_is_announced_and_looks_different(page):
    open_in(page, "tarnside")
    card = page.ask("kitchen roll").find_element(By.CSS_SELECTOR, ".card-body")
    reply = page.ask("my scooter battery is smoking in the hall!!")
    alarm = reply.find_element(By.CSS_SELECTOR, "[role=alert]")
    assert alarm.find_element(By.TAG_NAME, "h3").text == "Call 999 now"
    assert "Get everyone out" in alarm.text
    call = alarm.find_element(By.LINK_TEXT, "Call 999")
    assert call.get_attribute("href") == "tel:999"
    colour = "background-color"
    assert alarm.value_of_css_property(colour) != card.value_of_css_property(colour)
    assert reply.text.count("Call 999 now") == 1

    page.driver.refresh()
    page.until(page.ready, "the page is back")
    assert page.all("[role=alert]") == [], "a reload must not raise the alarm again"
    assert page.shown(".alarm a[href='tel:999']")


def test_whole_conversation_by_keyboard(page):
    page.open("/")
    focused = "return document.activeElement.matches(arguments[0])"

    def press(*keys: str) -> None:
        ActionChains(page.driver).send_keys(*keys).perform()

    def tab_to(css: str, back: bool = False) -> None:
        for _ in range(20):
            keys = ActionChains(page.driver)
            if back:
                keys.key_down(Keys.SHIFT).send_keys(Keys.TAB).key_up(Keys.SHIFT).perform()
            else:
                keys.send_keys(Keys.TAB).perform()
            if page.js(focused, css):
                outline = page.js(
                    "const n = document.activeElement; return [n, n.closest('.choice') || n]"
                    ".map((e) => getComputedStyle(e).outlineStyle)"
                )
                assert set(outline) != {"none"}, f"the focus on {css} cannot be seen"
                return
        raise AssertionError(f"the Tab key does not reach {css}")

    tab_to(".skip")
    tab_to("input[name=district]")
    press(Keys.SPACE)
    chosen = page.js("return document.activeElement.value")
    while chosen != "pellbrook":
        press(Keys.ARROW_DOWN)
        last, chosen = chosen, page.js("return document.activeElement.value")
        assert chosen != last
    press(Keys.ENTER)
    assert page.focused() == "message"
    asked = page.next_reply(lambda: press(PIZZA, Keys.ENTER))
    assert page.focused() == "message"
    tab_to("#log .options button", back=True)
    label = page.js("return document.activeElement.textContent")
    assert label == page.options(asked)[-1].text == "Cooked at home"
    answer = page.next_reply(lambda: press(Keys.ENTER))
    assert answer.find_element(By.TAG_NAME, "h3").text == "Grey bin with a yellow lid"
    assert page.focused() == "message"
    tab_to("summary", back=True)
    press(Keys.ENTER)
    assert "items/paper_card.yml" in answer.text
    tab_to("#message")
    press("old")
    ActionChains(page.driver).key_down(Keys.SHIFT).send_keys(Keys.ENTER).key_up(
        Keys.SHIFT
    ).perform()
    assert page.one("#message").get_property("value") == "old\n"


def test_too_long_a_message_is_kept_in_the_box(page):
    open_in(page, "pellbrook")
    page.js("document.getElementById('message').value = 'box '.repeat(251)")
    page.type("s")
    assert page.one("#count").text == "5 characters too many"
    assert page.one("#message").get_attribute("aria-invalid") == "true"
    assert page.all("#log > *") == []


STATES = {
    "several": "empty jam jars, a stack of letters and last week's kitchen roll",
    "caution": "where do AAA batteries go",
    "information": "what goes in the bin with the orange lid",
    "places": "where are the recycling centres",
    "referral": "you missed our street again",
    "unknown": "a bottle of some corrosive stuff with no label",
    "long": "a" * 300,
}


def test_nothing_is_cut_off_on_a_narrow_screen(page):
    page.size(320, 640)
    open_in(page, "oxmere")
    assert page.too_wide() <= 0
    for name, text in STATES.items():
        page.ask(text)
        assert page.too_wide() <= 0, name
    page.one("#district-change").click()
    assert page.too_wide() <= 0
    page.open("/items")
    assert page.too_wide() <= 0


def test_browser_keeps_only_the_conversation_and_only_in_the_tab(page):
    page.open("/")
    page.one("input[value=tarnside]").click()
    page.ask("old letters and hairspray can")
    page.ask("my scooter battery is smoking")
    kept = page.js("return [document.cookie, localStorage.length, Object.keys(sessionStorage)]")
    assert kept == ["", 0, ["lidwise-chat"]]
    assert page.js("return indexedDB.databases().then((all) => all.length)") == 0
    assert page.cookies() == [] and page.hosts() == {page.host}


def test_what_is_typed_never_becomes_markup(page):
    open_in(page, "pellbrook")
    page.ask("<img src=x onerror=alert(1)> <b>kitchen roll</b>")
    assert page.all("#log img, #log b, #log script") == []
    assert "<img src=x onerror=alert(1)>" in page.one("#log .bubble").text


def test_list_of_items_is_linked_and_can_be_read(page):
    page.open("/")
    page.one("footer a[href='/items']").click()
    assert page.one("h1").text == "All items and where they go in each district"
    assert page.one("#pizza_box").text.startswith("Pizza box")
    page.one("nav a[href='/items/oxmere']").click()
    assert page.one("h1").text == "All items and where they go in Oxmere"
    assert float(page.all("dd")[0].value_of_css_property("font-size").removesuffix("px")) >= 16
    page.one("footer a[href='/']").click()
    page.until(page.ready, "the chat is back")


def test_page_without_scripts_is_the_whole_list(page):
    book = load(BOOK)
    page.cdp("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        page.driver.get(page.address + "/")
        assert "JavaScript" in page.one("noscript .notice").text
        entries = page.all("main dt[id]")
        assert {e.get_attribute("id") for e in entries} == set(book.items)
        assert page.one("#pizza_box").is_displayed() and not page.shown("#chat-place")
        page.one("nav a[href='/?district=oxmere']").click()
        assert page.one("main h2").text == "All items and where they go in Oxmere"
        assert len(page.all("main dt[id]")) == len(book.items)
        assert page.one("nav a[aria-current=page]").text == "Oxmere"
        page.size(320)
        assert page.too_wide() <= 0
    finally:
        page.cdp("Emulation.setScriptExecutionDisabled", {"value": False})


def test_list_costs_nothing_where_scripts_run(page):
    page.open("/")
    assert page.js("return document.querySelectorAll('noscript *').length") == 0
    sent = page.js("return performance.getEntriesByType('navigation')[0].encodedBodySize")
    assert sent < 40_000


def test_question_in_the_address_is_asked_once(page):
    page.open(f"/?district=pellbrook&{DAY}&q=used+tissues%20%3Cb%3E")
    page.until(page.replies, "it is answered")
    assert page.one("#log .bubble").text == "You:\nused tissues <b>"
    assert page.js("return location.search") == f"?{DAY}"
    page.driver.refresh()
    page.until(page.ready, "the page is back")
    assert len(page.all("#log .bubble")) == 1


def test_new_reply_is_shown_from_its_start(page):
    page.size(360, 740)
    open_in(page, "pellbrook")
    page.ask("hello")
    reply = page.ask(STATES["several"])
    top = page.js("return arguments[0].getBoundingClientRect().top", reply)
    assert 0 <= top < 60
    assert page.js("return arguments[0].offsetHeight", reply) > 740


def test_new_reply_is_shown_where_things_move(page):
    page.look(prefers_reduced_motion="no-preference")
    page.size(360, 600)
    open_in(page, "pellbrook")
    for text in ("hello", STATES["several"], "used tissues", STATES["several"]):
        reply = page.ask(text)
        assert not page.shown("#newer"), "whoever has just asked has not scrolled away"
    top = "return arguments[0].getBoundingClientRect().top"
    page.until(lambda: 0 <= page.js(top, reply) < 60, "its start is in view")


def test_reader_who_scrolled_up_is_told_and_not_moved(page):
    page.size(360, 600)
    open_in(page, "pellbrook")
    page.ask(STATES["several"])
    slow = (
        "const real = window.fetch; window.fetch = async (...a) => { const r = await real(...a);"
        " await new Promise((done) => { window.release = done; }); return r; }"
    )
    page.js(slow)
    page.type("used tissues")
    page.until(lambda: page.shown("#waiting .dots"), "it waits")
    page.js("window.scrollTo(0, 0)")
    page.until(lambda: page.js("return !!window.release"), "the answer came")
    page.js("window.release()")
    page.until(lambda: page.shown("#newer"), "the reader is told")
    assert page.js("return scrollY") == 0
    assert page.focused() == "message"
    page.one("#newer").click()
    page.until(lambda: not page.shown("#newer"), "the button goes")
    last = page.replies()[-1]
    assert page.js("return document.activeElement === arguments[0]", last)
    assert page.js("return arguments[0].getBoundingClientRect().top", last) >= 0
