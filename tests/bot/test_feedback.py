""" "Was this right?" under an answer."""

from __future__ import annotations

import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys

from bot.remarks import Remark, Remarks
from tests.bot import browser

pytestmark = pytest.mark.skipif(
    bool(browser.missing()), reason=f"{browser.missing()} is not installed"
)


@pytest.fixture
def kept(page, running):
    """The remarks of the page's own conversation."""

    def read() -> list[Remark]:
        sender = page.js("return JSON.parse(sessionStorage['lidwise-chat']).sender")
        return [r for r in Remarks(running.data / "remarks.db").all() if r.conversation == sender]

    page.open("/?district=pellbrook&on=2026-12-01")
    return read


def buttons(reply):
    return reply.find_elements("css selector", ".verdict-row button")


def pressed(reply) -> list[str]:
    return [b.get_attribute("aria-pressed") for b in buttons(reply)]


def test_only_answers_are_asked_about(page, kept):
    asked = {
        "hello": False,
        "pizza box": False,
        "takeaway": True,
        "a didgeridoo": True,
        "what goes in the teal bin": True,
        "my scooter battery is smoking": False,
    }
    for text, has in asked.items():
        assert bool(buttons(page.ask(text))) == has, text


def test_yes_is_kept_and_can_be_taken_back(page, kept):
    reply = page.ask("used tissues")
    yes, no = buttons(reply)
    assert [yes.accessible_name, no.accessible_name] == ["Yes", "No"]
    assert page.one(".verdict").accessible_name == "Was this right?"
    yes.click()
    page.until(kept, "it is stored")
    assert pressed(reply) == ["true", "false"]
    page.until(lambda: page.one("#said").text == "Thank you.", "it is read out")
    no.click()
    page.until(lambda: kept()[0].kind == "wrong", "the change is stored")
    assert len(kept()) == 1 and pressed(reply) == ["false", "true"]
    page.driver.refresh()
    page.until(page.ready, "the page is back")
    assert pressed(page.replies()[0]) == ["false", "true"]


def test_no_with_a_comment_by_keyboard(page, kept):
    reply = page.ask("used tissues")
    no = buttons(reply)[1]
    page.js("arguments[0].focus()", no)

    def press(*keys: str) -> None:
        ActionChains(page.driver).send_keys(*keys).perform()

    press(Keys.ENTER)
    page.until(lambda: page.all(".note-form"), "it may be said why")
    assert page.js("return document.activeElement === arguments[0]", no), "the focus stays"
    page.until(kept, "no is stored before any comment")
    press(Keys.TAB)
    box = page.driver.switch_to.active_element
    assert box.accessible_name == "What was wrong? You do not have to say."
    assert box.get_attribute("maxlength") == "500"
    assert "leave out names" in page.one(f"#{box.get_attribute('aria-describedby')}").text
    press("Ours is blue", Keys.TAB, Keys.ENTER)
    page.until(lambda: kept()[0].note == "Ours is blue", "the comment is stored")
    assert page.all(".note-form") == []
    assert page.js("return document.activeElement === arguments[0]", no)
    assert "kept for a waste officer" in reply.text
    (one,) = kept()
    assert (one.question, one.kind, one.channel) == ("used tissues", "wrong", "webchat")
    assert (one.district, one.on) == ("pellbrook", "2026-12-01")
    assert one.reply["items"][0]["item"] == "tissue"


def test_verdict_given_offline_goes_out_later_once(page, kept):
    reply = page.ask("used tissues")
    page.offline(True)
    yes, no = buttons(reply)
    yes.click()
    no.click()
    assert pressed(reply) == ["false", "true"]
    assert kept() == []
    page.driver.execute_script("return new Promise((r) => setTimeout(r, 300))")
    page.offline(False)
    page.until(kept, "it went out")
    assert [r.kind for r in kept()] == ["wrong"]
    page.until(
        lambda: page.js("return JSON.parse(sessionStorage['lidwise-chat']).remarks") == [],
        "nothing waits any more",
    )


def test_verdict_the_server_refuses_is_told(page, kept):
    reply = page.ask("used tissues")
    page.js("window.fetch = async () => new Response('{}', {status: 404})")
    buttons(reply)[0].click()
    page.until(lambda: "could not be kept" in reply.text, "it says so")
