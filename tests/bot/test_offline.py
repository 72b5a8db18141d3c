"""The chat without a network, or with a server in trouble: nothing is lost or said twice."""

from __future__ import annotations

import pytest
from selenium.webdriver.common.by import By

from tests.bot import browser

pytestmark = pytest.mark.skipif(
    bool(browser.missing()), reason=f"{browser.missing()} is not installed"
)

FAIL_ONCE = """
const real = window.fetch; window.tried = [];
window.fetch = async (url, how) => {
  if (!String(url).includes('/webhooks/')) return real(url, how);
  window.tried.push(JSON.parse(how.body).metadata.message_id);
  %s
};
"""


def open_chat(page, district: str = "pellbrook") -> None:
    page.open(f"/?district={district}&on=2026-12-01")


def test_message_waits_while_the_server_is_out_of_reach(page):
    open_chat(page)
    page.block("*/webhooks/*")
    page.type("used tissues")
    page.until(lambda: page.all(".unsent"), "the message is marked")
    assert "Not sent yet. The service cannot be reached." in page.one(".unsent").text
    assert "used tissues" in page.one("#log .bubble").text and page.replies() == []
    assert page.focused() == "message"

    page.driver.refresh()
    page.until(page.ready, "the page is back")
    page.until(lambda: page.all(".unsent"), "it tried again")
    page.block()
    answer = page.next_reply(page.one(".unsent button").click)
    assert answer.find_element(By.TAG_NAME, "h3").text == "Dark grey bin"
    assert page.all(".unsent") == []
    assert len(page.all("#log .bubble")) == 1


def test_messages_typed_offline_go_out_in_order_when_the_network_is_back(page):
    open_chat(page)
    page.offline(True)
    page.until(lambda: page.shown("#offline"), "it says so before anything is sent")
    page.type("pizza box")
    page.type("it was a takeaway")
    page.until(lambda: len(page.all(".unsent")) == 2, "both are marked")
    assert "You are offline." in page.all(".unsent")[0].text
    page.offline(False)
    page.until(lambda: len(page.replies()) == 2, "both are answered")
    assert page.all(".unsent") == [] and not page.shown("#offline")
    order = [e.get_attribute("class").split()[1] for e in page.all("#log > *")]
    assert order == ["me", "bot", "me", "bot"]
    assert "Dark grey bin" in page.replies()[1].text


def test_page_left_offline_sends_its_messages_when_opened_again(page):
    open_chat(page)
    page.block("*/webhooks/*")
    page.type("used tissues")
    page.until(lambda: page.all(".unsent"), "the message is marked")
    page.block()
    page.driver.refresh()
    page.until(lambda: page.replies(), "it is answered without a word more")
    assert page.all(".unsent") == []


def test_reply_lost_on_the_way_is_fetched_and_the_question_is_not_asked_twice(page, running):
    open_chat(page)
    lose = "const r = await real(url, how); if (window.tried.length === 1) "
    page.js(FAIL_ONCE % (lose + "throw new TypeError('lost'); return r;"))
    page.type("used tissues")
    page.until(lambda: page.all(".unsent"), "the message is marked")
    page.until(lambda: page.replies(), "it came by itself")
    tried = page.js("return window.tried")
    assert len(tried) == 2 and len(set(tried)) == 1
    sender = page.js("return JSON.parse(sessionStorage['lidwise-chat']).sender")
    from tests.bot.test_once import events

    assert events(running, sender) == ["used tissues"]


def test_service_in_trouble_says_so_and_is_asked_again(page):
    open_chat(page)
    down = "if (window.tried.length < 2) return new Response('down', {status: 503});"
    page.js(FAIL_ONCE % (down + "return real(url, how);"))
    page.type("used tissues")
    page.until(lambda: page.all(".unsent"), "the message is marked")
    assert "The service has a problem. I will try again" in page.one(".unsent").text
    page.until(lambda: page.replies(), "it was tried again")
    assert page.all(".unsent") == []


def test_server_that_asks_for_a_pause_gets_it(page):
    open_chat(page)
    busy = "if (window.tried.length < 2) { window.at = Date.now(); return new Response('', "
    busy += "{status: 429, headers: {'retry-after': '4'}}); } window.at = Date.now() - window.at;"
    page.js(FAIL_ONCE % (busy + "return real(url, how);"))
    page.type("used tissues")
    page.until(lambda: page.replies(), "it was tried again")
    assert page.js("return window.at") >= 3900


def test_message_the_server_cannot_read_is_not_sent_for_ever(page):
    open_chat(page)
    page.js(FAIL_ONCE % "return new Response('{}', {status: 400});")
    page.type("used tissues")
    page.until(lambda: page.all(".unsent"), "the message is marked")
    assert page.one(".unsent button").text == "Try again"
    assert "Not answered." in page.one(".unsent").text
    page.js("return new Promise((done) => setTimeout(done, 2500))")
    assert len(page.js("return window.tried")) == 1


def test_slow_server_is_told_of(page):
    open_chat(page)
    page.js(
        "const late = window.setTimeout; window.setTimeout = (f, ms, ...a) =>"
        " late(f, ms === 8000 ? 50 : ms, ...a)"
    )
    page.js(FAIL_ONCE % "await new Promise((r) => { window.go = r; }); return real(url, how);")
    page.type("used tissues")
    page.until(lambda: "longer than usual" in page.one("#waiting").text, "it says so")
    page.js("window.go()")
    page.until(lambda: page.replies(), "the answer still comes")
    assert page.one("#waiting").text == ""


def test_cleared_chat_gets_no_late_answer(page):
    open_chat(page)
    page.js(FAIL_ONCE % "await new Promise((r) => { window.go = r; }); return real(url, how);")
    page.type("used tissues")
    page.until(lambda: page.js("return !!window.go"), "it is on its way")
    page.one("#clear").click()
    page.one("dialog button[value=clear]").click()
    page.js("window.go()")
    page.type("hello")
    page.until(lambda: page.js("return window.tried.length") == 2, "the next one goes out")
    page.js("window.go()")
    page.until(lambda: page.replies(), "it is answered")
    assert [e.text for e in page.all("#log .bubble")] == ["You:\nhello"]


def test_chat_works_without_the_list_of_districts(page):
    page.block("*/api/districts")
    page.open("/?on=2026-12-01")
    assert "The list of districts did not load." in page.one("#district-form").text
    asked = page.ask("cereal boxes")
    here = next(b for b in page.options(asked) if b.text == "Tarnside")
    assert "White sack" in page.next_reply(here.click).text
    page.block()
    page.one("#district-again").click()
    page.until(lambda: len(page.all(".choice")) == 4, "the list is there")
