"""How a reply is laid out on the chat page: nothing said twice, nothing lost, drawings that fit."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date

import pytest
from selenium.webdriver.common.by import By

from rules import load
from tests.bot import browser
from tests.bot.browser import Page
from tests.bot.conftest import BOOK
from tests.bot.test_web import DAY, STATES, open_in

pytestmark = pytest.mark.skipif(
    bool(browser.missing()), reason=f"{browser.missing()} is not installed"
)

FIXED = {"rule and source"}


def sentences(text: str) -> list[str]:
    parts = re.split(r"(?<=[.!?])\s+|\n+", text)
    said = [p.strip(" .").lower() for p in parts if len(p.split()) > 2]
    return [s for s in said if s not in FIXED]


SAID = [
    ("pellbrook", ["where do AAA batteries go"], "to a recycling centre"),
    ("oxmere", ["where do AAA batteries go"], "lay the bag on top of the closed bin"),
    ("pellbrook", ["coffee pods"], "in the dark grey bin"),
    ("oxmere", ["vape"], "clear bag on the closed maroon bin"),
    ("tarnside", [STATES["several"]], "this holds if it is not broken"),
    ("pellbrook", ["old letters and hairspray can"], "is the aerosol empty?"),
    ("pellbrook", ["what about a didgeridoo"], "we do not have a rule for this"),
    ("pellbrook", [STATES["unknown"]], "never put it in any bin or down a drain"),
    ("pellbrook", ["mattress", "no idea", "no idea"], "careful answer"),
    ("pellbrook", ["ash from the stove", "it is still warm"], "make it safe first"),
    ("oxmere", ["my laptop battery is swollen"], "do not handle it yourself"),
    ("pellbrook", ["asbestos roof"], "call the contact centre for advice: 01632 960118"),
    ("pellbrook", ["kettle"], "this holds if it does not work"),
    (None, ["used tissues"], "your general waste bin"),
    ("tarnside", ["my scooter battery is smoking"], "get everyone out and stay out"),
]


@pytest.mark.parametrize(
    ("district", "said", "part"), SAID, ids=[f"{d}-{s[0]}" for d, s, _ in SAID]
)
def test_nothing_is_said_twice_and_nothing_is_lost(page, district, said, part):
    page.open(f"/?{DAY}" + (f"&district={district}" if district else ""))
    for text in said:
        reply = page.ask(text)
    page.js("for (const d of arguments[0].querySelectorAll('details')) d.open = true", reply)
    shown = str(reply.get_attribute("innerText"))
    assert part in shown.lower()
    twice = [s for s, n in Counter(sentences(shown)).items() if n > 1]
    assert twice == []
    state = page.js("return JSON.parse(sessionStorage['lidwise-chat']).turns.at(-1).messages")
    (custom,) = [m["custom"] for m in state if "custom" in m]
    for item in custom["items"]:
        wanted = [item["why"], *item["prepare"]]
        if custom["kind"] != "emergency":
            wanted.append(item["caution"])
        assert [w for w in wanted if w and w.rstrip(".") not in shown] == []
        heading = [h.text.lower() for h in reply.find_elements(By.TAG_NAME, "h3")]
        assert not item["container"] or item["container"] in heading
        places = reply.find_elements(By.CSS_SELECTOR, ".others li")
        assert not item["alternatives"] or len(places) >= len(item["alternatives"])
        assert not [
            e.text for e in (*places, *reply.find_elements(By.TAG_NAME, "h3")) if "_" in e.text
        ]


def item(**more) -> dict:
    empty = {"facts": {}, "container": None, "alternatives": [], "prepare": [], "caution": None}
    return {**empty, "item": "thing", "asked_as": "thing", "why": None, "rule": "r", **more}


def told(page: Page, texts: list[str], items: list[dict], kind: str = "answer"):
    """What the page makes of a reply that a test made up."""
    custom = {"kind": kind, "district": None, "on": "2026-12-01", "items": items, "asks": None}
    page.open("/")
    page.js(
        "const told = arguments[0]; window.fetch = async () => new Response(JSON.stringify(told))",
        [*({"text": t} for t in texts), {"custom": custom}],
    )
    return page.ask("thing")


def test_no_destination_is_named_in_the_text_and_on_the_card(page):
    book = load(BOOK)
    on = date(2026, 12, 1)
    places = [(d.phrase, c, None) for c, d in book.destinations.items() if d.kind != "emergency"]
    for district in book.districts:
        for code in book.destinations:
            found = book.container(district, code, on)
            if found:
                bag = book.destinations[code].kind == "bag"
                places.append((found.name if bag else f"in the {found.name}", code, found.name))
    assert len(places) > 30
    texts = [f"Thing: {phrase}. Why: Reason {n}." for n, (phrase, _, _) in enumerate(places)]
    items = [
        item(destination=code, container=name, why=f"Reason {n}.")
        for n, (_, code, name) in enumerate(places)
    ]
    reply = told(page, texts, items)
    assert len(reply.find_elements(By.TAG_NAME, "article")) == len(places)
    assert [e.text for e in reply.find_elements(By.CSS_SELECTOR, ".intro, .remark, .say")] == []


def test_what_the_cards_cannot_show_stays_as_text(page):
    """The words are data that anybody in the partnership may change."""
    texts = [
        "Thing: round the back. Only on Fridays. Why: It is heavy. Or: to the shed.",
        "Other: in the blue thing.\n\nThe lorry comes early this week.",
    ]
    items = [
        item(destination="new_place", why="It is heavy.", alternatives=["residual", "reuse"]),
        item(destination="residual", asked_as="other", container="blue thing"),
    ]
    shown = page.words(told(page, texts, items))
    assert "New place" in shown
    kept = [
        "round the back.",
        "Only on Fridays.",
        "Or: to the shed.",
        "The lorry comes early this week.",
    ]
    assert [shown.count(k) for k in kept] == [1] * len(kept)
    assert "Pass it on" in shown and "Other options" in shown
    assert shown.lower().count("blue thing") == 1


def test_container_and_places_are_laid_out(page):
    open_in(page, "oxmere")
    told = page.ask(STATES["information"])
    assert told.find_element(By.TAG_NAME, "h3").text == "Bin with an orange lid"
    assert told.find_element(By.TAG_NAME, "strong").text == "Not in it:"
    assert told.find_element(By.CSS_SELECTOR, ".swatch .c-orange")
    near = page.ask(STATES["places"])
    assert len(near.find_elements(By.CSS_SELECTOR, ".places li")) >= 2
    link = page.ask(STATES["referral"]).find_element(By.PARTIAL_LINK_TEXT, "01632")
    assert link.get_attribute("href") == "tel:01632960118"


SWATCHES = [
    ("bin with an orange lid", ["bin", "plain", "orange"]),
    ("grey bin with a yellow lid", ["bin", "grey", "yellow"]),
    ("dark grey bin", ["bin", "dark-grey", "dark-grey"]),
    ("lime caddy", ["caddy", "lime", "lime"]),
    ("white sack", ["sack", "white", "white"]),
    ("green box", ["box", "green", "green"]),
    ("clear bag on the closed maroon bin", ["bag-on", "maroon", "maroon"]),
    ("tied bag beside the maroon bin", ["bag-beside", "maroon", "maroon"]),
]


def test_drawing_has_the_shape_and_colours_of_the_container(page):
    page.open("/")
    script = (
        "const [names, done] = arguments; import('/web/swatch.js').then(({look}) => done("
        "names.map((n) => { const {shape, body, lid} = look(n); return [shape, body, lid]; })))"
    )
    drawn = page.driver.execute_async_script(script, [name for name, _ in SWATCHES])
    assert drawn == [look for _, look in SWATCHES]
    css = page.js("return fetch('/web/swatch.css').then((r) => r.text())")
    colours = {colour for _, (_, *pair) in SWATCHES for colour in pair}
    assert [c for c in colours if f".c-{c} " not in css] == []
