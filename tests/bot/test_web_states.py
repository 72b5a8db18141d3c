"""Barriers on the chat page in every state and look, found by axe-core in a real browser.

Sources: axe-core for what a program can tell; WCAG 2.2 for sizes, reflow and spacing (its criteria
are named at each check, from memory).
"""

from __future__ import annotations

import pytest

from tests.bot import browser
from tests.bot.test_web import PIZZA, STATES, open_in

pytestmark = pytest.mark.skipif(
    bool(browser.missing()), reason=f"{browser.missing()} is not installed"
)

LOOKS = {
    "desk": (1280, 800, {}),
    "phone": (360, 740, {}),
    "narrow": (320, 640, {}),
    "zoomed 200%": (640, 400, {}),
    "dark": (1280, 800, {"prefers_color_scheme": "dark"}),
    "dark phone": (360, 740, {"prefers_color_scheme": "dark"}),
    "forced colours": (768, 1024, {"forced_colors": "active"}),
    "more contrast": (768, 1024, {"prefers_contrast": "more"}),
    "reduced motion": (768, 1024, {"prefers_reduced_motion": "reduce"}),
}
TARGETS = """
const small = [];
for (const n of document.querySelectorAll('button, a[href], input, textarea, summary')) {
  if (!n.checkVisibility() || n.closest('p, li, dd')) continue;
  const r = (n.closest('label') || n).getBoundingClientRect();
  if (r.width < 24 || r.height < 24) small.push(n.outerHTML);
}
return small;
"""
SPACING = (
    "const css = new "
    "CSSStyleSheet(); css.replaceSync('* { line-height: 1.5 !important; letter-spacing: .12em "
    "!important; word-spacing: .16em !important; } p { margin-bottom: 2em !important; }');"
    "document.adoptedStyleSheets = [css];"
)
CLIPPED = """
return [...document.querySelectorAll('#app button, #app p, #app h3, #app label, #app li')]
  .filter((n) => n.checkVisibility() && !n.classList.contains('unseen') &&
    (n.scrollWidth > n.clientWidth + 1 && getComputedStyle(n).overflow !== 'visible'))
  .map((n) => n.outerHTML);
"""


@pytest.mark.parametrize("look", LOOKS)
def test_no_barriers_found_in_any_state(page, look):
    width, height, features = LOOKS[look]
    page.size(width, height)
    page.look(**features)

    def sound(state: str) -> None:
        assert page.violations() == [], state
        assert page.too_wide() <= 0, f"{state}: 1.4.10 reflow"
        assert page.js(TARGETS) == [], f"{state}: 2.5.8 target size"

    page.open("/")
    sound("empty")
    page.one("input[value=oxmere]").click()
    page.ask(PIZZA)
    sound("question")
    page.ask("it was delivered")
    page.ask(STATES["caution"])
    page.ask(STATES["information"])
    reply = page.ask("what about a didgeridoo")
    page.js("for (const d of document.querySelectorAll('details')) d.open = true")
    sound("answers")
    page.js("arguments[0].click()", reply.find_elements("css selector", ".verdict button")[1])
    page.until(lambda: page.all(".note-form"), "the comment box is there")
    sound("comment")
    page.ask("my scooter battery is smoking")
    sound("emergency")
    page.block("*/webhooks/*")
    page.type("thanks")
    page.until(lambda: page.all(".unsent"), "the message is marked")
    sound("error")
    page.js("document.getElementById('clear').click()")
    assert page.violations() == [], "before clearing"


@pytest.mark.parametrize("look", ["phone", "dark"])
def test_no_barriers_found_in_the_list(page, look):
    width, height, features = LOOKS[look]
    page.size(width, height)
    page.look(**features)
    page.open("/items/oxmere")
    assert page.violations() == []


def test_text_may_be_spaced_out(page):
    """WCAG 2.2, 1.4.12."""
    page.size(360, 740)
    open_in(page, "oxmere")
    page.js(SPACING)
    for text in STATES.values():
        page.ask(text)
    assert page.too_wide() <= 0
    assert page.js(CLIPPED) == []


def test_four_times_as_large_still_works(page):
    """WCAG 2.2, 1.4.10: 1280 by 1024 at 400% is 320 by 256."""
    page.size(320, 256)
    open_in(page, "pellbrook")
    reply = page.ask("AA batteries")
    assert page.too_wide() <= 0
    place = page.one("#composer").value_of_css_property("position")
    assert place == "static", "a stuck message box would cover the answer"
    top = page.js("return arguments[0].getBoundingClientRect().top", reply)
    assert 0 <= top < 60


def test_focus_is_never_hidden_behind_the_message_box(page):
    """WCAG 2.2, 2.4.11."""
    page.size(360, 740)
    open_in(page, "oxmere")
    page.ask(STATES["several"])
    page.js("window.scrollTo(0, 0)")
    covered = page.js(
        "const c = document.getElementById('composer'); const bad = [];"
        "for (const n of document.querySelectorAll('#log button, #log summary, #log a')) {"
        " n.focus(); const r = n.getBoundingClientRect(), b = c.getBoundingClientRect();"
        " if (r.bottom > b.top + 1 || r.top < 0) bad.push(n.outerHTML); } return bad;"
    )
    assert covered == []


def test_each_reply_is_read_out_once_and_an_alarm_at_once(page):
    """WCAG 2.2, 4.1.3; the roles are those of WAI-ARIA 1.2."""
    open_in(page, "pellbrook")
    log = page.one("#log")
    assert log.aria_role == "log" and log.get_attribute("aria-live") is None
    live = (
        "let n = arguments[0]; for (; n; n = n.parentElement) {"
        " const l = n.getAttribute('aria-live') || {alert: 'assertive', log: 'polite',"
        " status: 'polite'}[n.getAttribute('role')]; if (l) return l; } return null;"
    )
    reply = page.ask("used tissues")
    assert page.js(live, reply) == "polite"
    assert page.js(live, reply.find_element("css selector", ".verdict-row")) == "off"
    alarm = page.ask("my scooter battery is smoking")
    assert page.js(live, alarm) == "off"
    assert page.js(live, alarm.find_element("css selector", ".alarm h3")) == "assertive"
    assert page.js("return document.documentElement.lang") == "en-GB"
