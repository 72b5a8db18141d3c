"""The widget on another site's page, from another origin, in a real browser."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys

from tests.bot import browser
from tests.bot.conftest import BOOK, Running
from tests.bot.host import Host, Widget
from tests.bot.test_web_states import TARGETS

pytestmark = pytest.mark.skipif(
    bool(browser.missing()), reason=f"{browser.missing()} is not installed"
)

BOX = "const r = arguments[0].getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom];"


@pytest.fixture(scope="module")
def host(site) -> Iterator[Host]:
    host = Host(site.address)
    yield host
    host.stop()


@pytest.fixture
def widget(chrome, site, host) -> Iterator[Widget]:
    widget = Widget(chrome, site.address, host)
    widget.fresh()
    yield widget
    assert [c for c in widget.complaints() if host.address not in c] == []
    assert widget.hosts() <= {widget.host, host.address.removeprefix("http://")}
    assert widget.cookies() == []


def press(widget, *keys: str) -> None:
    ActionChains(widget.driver).send_keys(*keys).perform()


def test_one_script_tag_puts_a_named_button_in_the_corner(widget):
    widget.visit("/plain")
    button = widget.one(".launcher")
    assert button.accessible_name == "Which bin?"
    assert button.get_attribute("aria-expanded") == "false"
    left, top, right, bottom = widget.js(BOX, button)
    width = widget.js("return document.documentElement.clientWidth")
    assert right - left >= 44 and bottom - top >= 44
    assert width - right == 16 and widget.js("return innerHeight") - bottom == 16
    scripts = widget.js("return performance.getEntriesByType('resource').map((e) => e.name)")
    assert not [s for s in scripts if "/web/chat.js" in s], "the chat loads when it is opened"


def test_panel_on_a_desk_leaves_the_page_usable(widget):
    widget.visit("/plain", opened=True)
    panel = widget.one(".panel")
    assert panel.aria_role == "dialog"
    assert panel.accessible_name == "Which bin? Ask Lidwise"
    widget.until(lambda: widget.focused() == "message", "one can type at once")
    assert widget.js("return arguments[0].matches(':modal')", panel) is False
    widget.outside("#host-button").click()
    assert widget.focused() == "page:host-button"
    widget.one("#message").click()
    press(widget, Keys.ESCAPE)
    assert not widget.shown(".panel")
    assert widget.focused() == "launcher"


def test_full_screen_on_a_phone_keeps_the_focus_and_the_page_still(widget):
    widget.size(360, 640)
    widget.visit("/plain")
    widget.open_panel()
    panel = widget.one(".panel")
    assert widget.js("return arguments[0].matches(':modal')", panel) is True
    assert widget.js(BOX, panel) == [0, 0, 360, 640]
    around = set()
    for _ in range(20):
        press(widget, Keys.TAB)
        around.add(widget.focused())
    assert not [f for f in around if f.startswith("page:") and f != "page:BODY"]
    assert "message" in around and "close" in around
    widget.js("window.scrollTo(0, 500)")
    ActionChains(widget.driver).scroll_by_amount(0, 400).perform()
    assert widget.js("return getComputedStyle(document.documentElement).overflowY") == "hidden"
    press(widget, Keys.ESCAPE)
    assert not widget.shown(".panel") and widget.focused() == "launcher"
    assert widget.js("return document.documentElement.style.overflow") == ""


def test_turning_the_screen_changes_the_kind_of_panel(widget):
    widget.size(900, 600)
    widget.visit("/plain", opened=True)
    widget.one("#message").send_keys("half a wo")
    widget.size(500, 800)
    modal = "return root.querySelector('.panel').matches(':modal')"
    widget.until(lambda: widget.in_root(modal), "it fills the screen")
    assert widget.focused() == "message"
    assert widget.one("#message").get_property("value") == "half a wo"
    widget.size(900, 600)
    widget.until(lambda: not widget.in_root(modal), "it is a panel again")
    assert widget.js("return document.documentElement.style.overflow") == ""


def test_conversation_goes_on_from_page_to_page(widget):
    widget.visit("/plain", opened=True)
    widget.one("input[value=pellbrook]").click()
    asked = widget.ask("pizza box")
    assert [b.text for b in widget.options(asked)] == ["From a takeaway", "Cooked at home"]
    widget.visit("/left")
    widget.settled()
    assert widget.focused() == "page:BODY", "a panel that opens by itself takes no focus"
    assert widget.one("#district-now").text == "Pellbrook", "the resident's choice counts"
    answer = widget.next_reply(lambda: widget.options(widget.replies()[-1])[0].click())
    assert "Dark grey bin" in answer.text
    kept = widget.js("return [localStorage.length, Object.keys(sessionStorage).sort()]")
    assert kept == [0, ["lidwise-chat", "lidwise-open"]]
    widget.one(".close").click()
    widget.visit("/plain")
    assert not widget.shown(".panel")


def test_tag_may_name_the_side_and_the_district(widget):
    widget.visit("/left")
    assert widget.js(BOX, widget.one(".launcher"))[0] == 16
    widget.open_panel()
    assert widget.one("#district-now").text == "Oxmere"
    assert widget.js(BOX, widget.one(".panel"))[0] == 16


def bubbles(widget) -> list[str]:
    return [e.text.split("\n")[-1] for e in widget.all("#log .bubble")]


def test_address_asks_its_question_once(widget):
    widget.visit("/plain?page=2#lidwise=used%20tissues%20%3Cb%3E")
    widget.until(widget.replies, "it is answered")
    assert bubbles(widget) == ["used tissues <b>"]
    assert widget.js("return location.search + location.hash") == "?page=2"
    widget.driver.refresh()
    widget.until(widget.there, "the widget is back")
    widget.settled()
    assert bubbles(widget) == ["used tissues <b>"]
    widget.outside("#hash").click()
    widget.until(lambda: len(bubbles(widget)) == 2, "a click asks anew")
    widget.until(lambda: len(widget.replies()) == 2, "it is answered")


@pytest.mark.parametrize("address", ["#lidwise", "#lidwise=", "#lidwise=%E0%A4%A"])
def test_address_opens_the_panel(widget, address):
    widget.visit("/plain" + address)
    widget.settled()
    assert len(bubbles(widget)) == (address == "#lidwise=%E0%A4%A")
    if bubbles(widget):
        widget.until(widget.replies, "it is answered")


def test_link_with_a_question_asks_it(widget):
    widget.visit("/plain")
    widget.outside("#ask").click()
    widget.until(widget.replies, "it is asked")
    assert bubbles(widget) == ["pizza box"]
    assert widget.js("return location.pathname") == "/plain"


def test_answer_that_comes_after_closing_is_marked_on_the_button(widget):
    widget.visit("/plain", opened=True)
    widget.in_root(
        "const real = window.fetch; window.fetch = async (...a) => {"
        " await new Promise((r) => { window.go = r; }); return real(...a); }"
    )
    widget.type("used tissues")
    widget.until(lambda: widget.js("return !!window.go"), "it is on its way")
    widget.one(".close").click()
    widget.js("window.go()")
    widget.until(lambda: widget.all(".launcher.has-news"), "the button tells")
    assert widget.one(".launcher").accessible_name == "Which bin? There is a new answer."
    widget.open_panel()
    assert widget.all(".launcher.has-news") == []


STYLES = """
const pick = (css) => { const n = root.querySelector(css); if (!n) return null;
  const s = getComputedStyle(n), r = n.getBoundingClientRect();
  return [s.fontSize, s.color, s.display, s.letterSpacing, s.fontFamily, s.backgroundColor,
    s.borderTopWidth, s.opacity, Math.round(r.width), Math.round(r.height)]; };
return ['.launcher', '.panel', '#message', '#send', '#welcome p', '.choice', '.close'].map(pick);
"""


def test_page_around_cannot_spoil_the_chat(widget):
    widget.visit("/plain", opened=True)
    plain = widget.in_root(STYLES)
    widget.one(".close").click()
    widget.visit("/nasty", opened=True)
    assert widget.in_root(STYLES) == plain
    assert widget.one(".panel").is_displayed()


def test_chat_does_not_spoil_the_page_around(widget):
    look = (
        "return [...document.querySelectorAll('main, main *')].map((n) => { const s ="
        " getComputedStyle(n), r = n.getBoundingClientRect(); return [s.font, s.color, r.top,"
        " r.width].join(); }).concat(Object.keys(window).filter((k) => /lidwise/i.test(k)),"
        " document.head.children.length, document.body.children.length)"
    )
    widget.block("*/web/embed.js")
    widget.driver.get(widget.site.address + "/plain")
    before = widget.js(look)
    widget.block()
    widget.visit("/plain", opened=True)
    after = widget.js(look)
    assert after[:-1] == before[:-1]
    assert after[-1] == before[-1] + 1, "one element of ours in the body"
    assert (
        widget.js("return document.querySelectorAll('[id^=district], #message, #log').length") == 0
    )


def test_page_with_the_strictest_policy_can_have_it(widget):
    widget.visit("/strict", opened=True)
    widget.one("input[value=oxmere]").click()
    answer = widget.ask("used tissues")
    assert "Maroon bin" in answer.text
    assert answer.find_element("css selector", ".swatch .c-maroon")
    assert widget.one(".panel").value_of_css_property("position") == "fixed"
    assert widget.js("return arguments[0].naturalWidth", widget.one(".panel .mark")) > 0
    widget.js("arguments[0].click()", answer.find_elements("css selector", ".verdict button")[0])
    widget.until(
        lambda: widget.js("return JSON.parse(sessionStorage['lidwise-chat']).remarks") == [],
        "the remark is taken",
    )
    assert answer.find_elements("css selector", ".verdict-told")[0].text == "Thank you."


def test_keys_in_the_chat_are_no_shortcuts_of_the_page(widget):
    widget.visit("/plain", opened=True)
    widget.js(
        "window.keys = []; document.addEventListener('keydown', (e) => window.keys.push(e.key))"
    )
    widget.one("#message").send_keys("s/k")
    assert widget.js("return window.keys") == []


def test_whole_conversation_by_keyboard(widget):
    widget.visit("/plain")
    widget.outside("#host-button").click()
    for _ in range(5):
        press(widget, Keys.TAB)
        if widget.focused() == "launcher":
            break
    press(widget, Keys.ENTER)
    widget.settled()
    widget.until(lambda: widget.focused() == "message", "the panel has the focus")

    def back_to(css: str) -> None:
        for _ in range(20):
            ActionChains(widget.driver).key_down(Keys.SHIFT).send_keys(Keys.TAB).key_up(
                Keys.SHIFT
            ).perform()
            if widget.in_root("return !!root.activeElement?.matches(arguments[0])", css):
                return
        raise AssertionError(f"the Tab key does not reach {css}")

    back_to("input[name=district]")
    press(widget, Keys.ARROW_UP, Keys.ENTER)
    assert widget.focused() == "message"
    widget.next_reply(lambda: press(widget, "pizza box", Keys.ENTER))
    back_to("#log .options button")
    assert widget.in_root("return root.activeElement.textContent") == "Cooked at home"
    widget.next_reply(lambda: press(widget, Keys.ENTER))
    back_to(".verdict button")
    press(widget, Keys.ENTER, Keys.ESCAPE)
    assert widget.focused() == "launcher"


LOOKS = {
    "desk": (1280, 800, {}),
    "tablet": (768, 1024, {}),
    "phone": (360, 740, {}),
    "narrow": (320, 640, {}),
    "zoomed 200%": (640, 400, {}),
    "zoomed 400%": (320, 256, {}),
    "dark": (1280, 800, {"prefers_color_scheme": "dark"}),
    "forced colours": (768, 1024, {"forced_colors": "active"}),
    "reduced motion": (360, 740, {"prefers_reduced_motion": "reduce"}),
}


@pytest.mark.parametrize("look", LOOKS)
def test_no_barriers_found_in_any_state(widget, look):
    width, height, features = LOOKS[look]
    widget.size(width, height)
    widget.look(**features)

    def sound(state: str) -> None:
        assert widget.violations() == [], state
        small = TARGETS.replace("document.querySelectorAll", "root.querySelectorAll")
        assert widget.in_root(small) == [], f"{state}: 2.5.8 target size"
        wide = "const s = root.querySelector('.scroll'); return s.scrollWidth - s.clientWidth;"
        assert widget.in_root(wide) <= 0, f"{state}: 1.4.10 reflow"

    widget.visit("/plain")
    sound("closed")
    widget.open_panel()
    sound("empty")
    widget.js("arguments[0].click()", widget.one("input[value=oxmere]"))
    widget.ask("pizza box")
    sound("question")
    widget.ask("it was delivered")
    widget.ask("AA batteries")
    widget.in_root("for (const d of root.querySelectorAll('details')) d.open = true")
    sound("answers")
    widget.ask("my scooter battery is smoking")
    sound("emergency")
    widget.block("*/webhooks/*")
    widget.type("thanks")
    widget.until(lambda: widget.all(".unsent"), "the message is marked")
    sound("error")


def test_chat_that_does_not_load_says_so_and_can_be_tried_again(widget):
    widget.visit("/plain")
    widget.block("*/web/chat.js")
    widget.one(".launcher").click()
    told = widget.until(lambda: widget.all(".scroll [role=alert]"), "it says so")[0]
    assert "did not load" in told.text
    widget.block()
    widget.one(".close").click()
    widget.open_panel()
    assert "Maroon bin" in widget.ask("used tissues, I live in Oxmere").text


def test_demo_page_has_it_and_has_no_barriers(page):
    page.open("/embed-demo")
    page.until(
        lambda: page.js("return !!document.querySelector('lidwise-chat')"), "the widget is there"
    )
    assert page.one("script[src='/web/embed.js']").get_attribute("data-district") == "oxmere"
    assert page.violations() == []
    page.size(320)
    assert page.too_wide() <= 0


def test_site_that_is_not_listed_is_kept_out(chrome, site, host):
    """Nothing is listed here, so only `localhost` and the like may, not a site with a name."""
    Widget(chrome, site.address, host).fresh()
    script = (
        "const done = arguments[1]; fetch(arguments[0] + '/api/districts')"
        ".then((r) => done(r.status), (e) => done(String(e)))"
    )
    chrome.get(host.address.replace("127.0.0.1", "localhost") + "/empty")
    assert chrome.execute_async_script(script, site.address) == 200
    elsewhere = host.address.replace("127.0.0.1", "www.merrowdale.example")
    chrome.get(elsewhere + "/empty")
    assert "Failed to fetch" in chrome.execute_async_script(script, site.address)
    tag = (
        "const s = document.createElement('script'); s.src = arguments[0] + '/web/embed.js';"
        "document.body.append(s)"
    )
    chrome.get_log("browser")
    chrome.execute_script(tag, site.address)
    said: list[str] = []
    for _ in range(100):
        said += [e["message"] for e in chrome.get_log("browser")]
        if any("webchat: origins" in s for s in said):
            return
        chrome.execute_async_script("setTimeout(arguments[0], 50)")
    raise AssertionError(f"the console does not tell the cure: {said}")


def test_listed_site_may_and_a_local_page_then_may_not(chrome, host, fresh):
    origin = host.address.replace("127.0.0.1", "www.merrowdale.example")
    (fresh / "settings.yml").write_text(f"webchat: {{origins: ['{origin}']}}", encoding="utf-8")
    run = Running(fresh, BOOK)
    try:
        address = run.until("Ready: ").split()[1].rstrip("/")
        script = "const done = arguments[1]; fetch(arguments[0] + '/api/districts')"
        script += ".then((r) => done(r.status), (e) => done(String(e)))"
        chrome.get(origin + "/empty")
        assert chrome.execute_async_script(script, address) == 200
        chrome.get(host.address + "/empty")
        assert "Failed to fetch" in chrome.execute_async_script(script, address)
    finally:
        run.stop()
    chrome.get_log("browser")
