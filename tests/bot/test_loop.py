"""The officer's whole loop in browser and terminal, from demo traffic to the right answer.

One assistant runs all the while; nothing is started again between a change and its answer.
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest

from bot.changes.store import Changes
from rules import decide, load
from rules.decide import Decision
from tests.bot import browser
from tests.bot.browser import Page
from tests.bot.conftest import BOOK, Running, Site, lidwise
from tests.bot.officer import NAME, NEEDS, enter, fits, see
from tests.bot.staff import with_account
from tests.bot.waiting import until

DISTRICT = "oxmere"


@pytest.fixture(scope="module")
def loop(model_data, tmp_path_factory) -> Iterator[Running]:
    """An assistant of its own, whose rules may change, with some days of demo traffic."""
    folder = tmp_path_factory.mktemp("loop")
    shutil.copytree(BOOK, folder / "rules" / "book")
    shutil.copytree(BOOK.parent / "examples", folder / "rules" / "examples")
    shutil.copytree(model_data / "models", folder / "data" / "models")
    run = Running(folder / "data", folder / "rules" / "book")
    try:
        run.until("Ready: ")
        made = lidwise(*where("demo-traffic", run), "--people", "150", "--days", "7", "--seed", "7")
        assert made.returncode == 0, made.stderr
        with_account(run.data, NAME, "officer")
        yield run
    finally:
        run.stop()


@pytest.fixture(scope="module")
def there(loop) -> Site:
    return Site(loop.until("Ready: ").split()[1])


def where(command: str, run: Running) -> list[str]:
    rules = run.data.parent / "rules" / "book"
    return [*command.split(), "--data-dir", str(run.data), "--rules", str(rules)]


def terminal(run: Running, command: str, *more: str) -> str:
    done = lidwise(*where(command, run), *more)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def unknown_things(run: Running) -> list[dict[str, Any]]:
    """What is asked for and unknown, most asked first, as the officer's list has it."""
    listed = json.loads(terminal(run, "review", "--json"))
    plain = [g for g in listed if g["kind"] == "words" and not g["hazard"]]
    return [g for g in plain if "unknown" in g["whys"] and g["title"].replace(" ", "").isalpha()]


def expected(item: str) -> str:
    """Where the rules send an item that is asked about without a condition."""
    decision = decide(load(BOOK), DISTRICT, date.today(), item, {})
    assert isinstance(decision, Decision)
    return decision.destination


def answers(site: Site, text: str, item: str) -> bool:
    answer = site.answer(text, district=DISTRICT)
    return [i["item"] for i in answer["items"]] == [item]


@NEEDS
def test_in_the_browser(loop, there, tmp_path_factory):
    driver = browser.start(tmp_path_factory.mktemp("loop-profile"))
    try:
        page = Page(driver, there.address)
        page.fresh()
        enter(page)
        walk(page, loop, there)
        assert page.hosts() <= {page.host}
    finally:
        driver.quit()


def walk(page: Page, run: Running, site: Site) -> None:
    """See what is asked and unknown, accept it, read, apply, ask, publish, report."""
    thing = unknown_things(run)[0]
    title, asked = thing["title"], f"where does a {thing['title']} go"
    before = site.answer(asked, district=DISTRICT)
    assert before["kind"] == "cautious" and before["items"][0]["item"] is None

    see(page, "/officer")
    page.one("main a[href='/officer/review']").click()
    page.one(f"main a[href*='{thing['key']}']").click()
    page.one("#other").send_keys("vacuum cleaner")
    names = page.one("#names")
    names.clear()
    names.send_keys(title)
    page.one("form[action$='/name'] .main-button").click()

    page.until(lambda: "/officer/changes/" in driver_at(page), "the change is there to be read")
    change = driver_at(page)
    fits(page, change.removeprefix(page.address))
    shown = page.words(page.one("main"))
    assert title in page.words(page.one("#difference + *")) or title in shown
    assert "Passed." in shown
    assert site.answer(asked, district=DISTRICT)["kind"] == "cautious", "nothing goes live unread"
    page.one("form[action$='/apply'] button").click()
    page.until(lambda: page.all("form[action$='/undo']"), "it is applied")

    until(lambda: answers(site, asked, "vacuum_cleaner"), "the chat knows it")
    answer = site.answer(asked, district=DISTRICT)
    assert answer["items"][0]["destination"] == expected("vacuum_cleaner")
    left = sum(g["asked"] for g in unknown_things(run) if g["key"] == thing["key"])
    assert left < thing["asked"], "what is known now is off the list"

    see(page, "/officer/publish")
    page.one("form[action$='/noted'] button").click()
    page.until(lambda: "by " + NAME in page.driver.page_source, "it is noted as published")
    assert title in site.request(f"/a-to-z/{DISTRICT}")[2].decode()

    for path in ("/officer", "/officer/asked", "/officer/conversations", "/officer/examples"):
        fits(page, path)


def driver_at(page: Page) -> str:
    return str(page.driver.current_url)


def test_in_the_terminal(loop, there, tmp_path):
    thing = unknown_things(loop)[-1]
    title, asked = thing["title"], f"what about a {thing['title']}"
    assert title in terminal(loop, "review show", thing["key"])
    said = terminal(loop, "review name", thing["key"], "mug", "--name", title, "--by", "olive")
    (change,) = re.findall(r"\d{8}-[0-9a-f]{6}", said)[:1]

    shown = terminal(loop, "changes show", change)
    assert title in shown
    digest = digest_of(loop, change)
    refused = lidwise(*where("changes apply", loop), change, "--yes", "0" * len(digest))
    assert refused.returncode != 0 and "not the difference" in refused.stderr + refused.stdout
    assert there.answer(asked, district=DISTRICT)["kind"] == "cautious"
    version = there.json("/health")["book"]["version"]
    terminal(loop, "changes apply", change, "--yes", digest)
    until(lambda: there.answer(asked, district=DISTRICT)["items"][0]["item"], "the chat knows it")

    assert title in terminal(loop, "compare", version, "now")
    terminal(loop, "publish", str(tmp_path / "out"))
    listed = (tmp_path / "out" / "a-to-z" / f"{DISTRICT}.html").read_text(encoding="utf-8")
    assert title in listed
    saved = str(tmp_path / "report.html")
    assert "Demo traffic" in terminal(loop, "report", "--demo", "--html", saved)
    assert "<svg" in (tmp_path / "report.html").read_text(encoding="utf-8")
    there.say(asked, "loop-explained", district=DISTRICT)
    done = lidwise("explain", "loop-explained", "--data-dir", loop.data)
    explained = done.stdout
    assert title in explained and there.json("/health")["book"]["version"][:12] in explained


def digest_of(run: Running, change: str) -> str:
    return Changes(run.data, run.data.parent / "rules" / "book").get(change).digest
