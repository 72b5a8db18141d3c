"""Text messages to the running assistant: the simulator, the command, and what is remembered."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing

import pytest
import smsutil
import yaml
from sanic import Sanic
from selenium.webdriver.common.keys import Keys

from bot import settings, texting
from bot.processes import Failed
from bot.sms import service
from tests.bot import browser
from tests.bot.browser import Page
from tests.bot.conftest import BOOK, Running, Site, lidwise


def simulate(site: Site, number: str, text: str) -> str:
    body = json.dumps({"number": number, "text": text}).encode()
    status, _, answer = site.request(
        "/sms-simulator/messages", body, "POST", **{"content-type": "application/json"}
    )
    assert status == 200, answer
    reply = json.loads(answer)["reply"]
    if reply["text"]:
        assert reply["messages"] == len(smsutil.split(reply["text"]).parts) <= 2
        assert reply["alphabet"] == "GSM-7"
    return str(reply["text"])


# The conversation


@pytest.mark.parametrize("word", ["2", "2.", "option 2", "Cooked at home", "it was home cooked"])
def test_digits_and_words_answer_a_question(site, word):
    number = f"07700 9001{len(word):02}"
    simulate(site, number, "I live in Oxmere")
    assert "1 From a takeaway, 2 Cooked at home" in simulate(site, number, "pizza box")
    assert simulate(site, number, word).startswith("Pizza box: bin with an orange lid")


def test_several_things_and_a_danger(site):
    number = "07700 900201"
    said = simulate(site, number, "empty jam jars, a stack of letters and AAA batteries")
    assert said == "Glass jar: Which district? Reply 1 Oxmere, 2 Pellbrook, 3 Tarnside"
    said = simulate(site, number, "1")
    assert "Never put it in any bin" in said and "orange lid" in said
    assert simulate(site, number, "my phone battery is smoking").startswith("CALL 999 NOW.")


def test_district_is_asked_once_and_used_from_then_on(site):
    number = "07700 900202"
    asked = simulate(site, number, "AA batteries")
    assert "Which district? Reply 1 Oxmere, 2 Pellbrook, 3 Tarnside" in asked
    assert "clear bag on the closed maroon bin" in simulate(site, number, "Oxmere")
    assert "orange lid" in simulate(site, number, "cereal box")
    simulate(site, number, "I live in Tarnside now")
    assert "orange lid" not in simulate(site, number, "cereal box")


def test_district_of_somebody_else_changes_nothing(site):
    number = "07700 900203"
    simulate(site, number, "I live in Oxmere")
    simulate(site, number, "where would AA batteries go in Pellbrook")
    assert "orange lid" in simulate(site, number, "cereal box")


def test_district_is_known_after_a_restart_and_weeks(fresh):
    number = "07700 900204"
    first = Running(fresh, BOOK)
    try:
        site = Site(first.until("Ready: ").split()[1])
        simulate(site, number, "I live in Oxmere")
        assert "Reply 1" in simulate(site, number, "pizza box")
    finally:
        first.stop()
    with closing(sqlite3.connect(fresh / "sms.db")) as store:
        store.execute("UPDATE texters SET seen = seen - 3000000")
        store.commit()
    second = Running(fresh, BOOK)
    try:
        site = Site(second.until("Ready: ").split()[1])
        assert simulate(site, number, "1").startswith("Sorry")
        assert "clear bag on the closed maroon bin" in simulate(site, number, "AA batteries")
    finally:
        second.stop()
    files = [p for p in fresh.rglob("*") if p.is_file() and "models" not in p.parts]
    assert len(files) > 5
    assert not [p for p in files if b"900204" in p.read_bytes() or b"900 204" in p.read_bytes()]


# The command


def test_command_talks_to_the_webhook_as_a_gateway_would(site, running):
    there = ("--url", site.address, "--data-dir", running.data, "--from", "07700 900205")
    done = lidwise("text", "pizza box", "1", *there)
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert lines[0] == "> pizza box"
    assert "Reply 1 From a takeaway" in lines[1]
    assert lines[2].endswith("characters, 1 message]")
    assert "Pizza box: general waste" in lines[4]


def test_command_says_what_is_wrong(site, running, tmp_path):
    elsewhere = lidwise("text", "x", "--url", "http://127.0.0.1:9", "--data-dir", running.data)
    assert elsewhere.returncode == 1
    assert elsewhere.stderr.startswith("No server answers at http://127.0.0.1:9")
    no_key = lidwise("text", "x", "--url", site.address, "--data-dir", tmp_path)
    assert "Start one with 'lidwise run'" in no_key.stderr
    (tmp_path / "settings.yml").write_text(
        yaml.safe_dump({"sms": {"secret": {"header": "x-sms-secret", "secret": "another-one"}}})
    )
    other = lidwise("text", "x", "--url", site.address, "--data-dir", tmp_path)
    assert other.stderr.strip() == (
        "The server knows another secret. Give --data-dir the folder it runs with."
    )


def test_command_signs_as_set(tmp_path):
    told = {
        "fields": {"from": "a.who", "text": "a.what", "id": ["a.no", "b"]},
        "secret": {"field": "a.key", "secret": "long-enough"},
        "hmac": {"header": "x-s", "secret": "long-enough", "prefix": "v1="},
    }
    (tmp_path / "settings.yml").write_text(yaml.safe_dump({"sms": told}))
    body, headers = texting.Gateway(tmp_path, "http://x").call("07700 900206", "tins")
    assert set(json.loads(body)["a"]) == {"who", "what", "no", "key"}
    assert headers["x-s"].startswith("v1=")


# When it is there


def test_webhook_of_the_demo_is_closed_to_others(site):
    body = json.dumps({"from": "07700 900207", "text": "tins"}).encode()
    status, _, answer = site.request("/webhooks/sms/webhook", body, "POST")
    assert (status, answer) == (403, b"")


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        ({"number": "01632 960118", "text": "x"}, "application/json"),
        ({"number": "", "text": "x"}, "application/json"),
        ({"number": 7, "text": "x"}, "application/json"),
        ({"number": "07700 900208", "text": "x" * 2000}, "application/json"),
        ({"number": "07700 900208"}, "application/json"),
        ({"number": "07700 900208", "text": "x"}, "text/plain"),
        ([], "application/json"),
    ],
)
def test_simulator_takes_invented_numbers_only(site, body, kind):
    status, _, answer = site.request(
        "/sms-simulator/messages", json.dumps(body).encode(), "POST", **{"content-type": kind}
    )
    assert status == 400
    assert json.loads(answer)["error"].endswith(".")


@pytest.mark.parametrize(
    "head", [{"x-forwarded-for": "192.0.2.1"}, {"host": "bins.example"}, {"via": "1.1 proxy"}]
)
def test_simulator_that_nobody_set_up_is_not_let_through_a_proxy(site, head):
    assert site.request("/sms-simulator")[0] == 200
    assert site.request("/sms-simulator", **head)[0] == 404
    assert site.request("/sms-simulator/messages", b"{}", "POST", **head)[0] == 404
    assert site.request("/items", **head)[0] == 200


@pytest.mark.parametrize(
    ("host", "told", "channels", "simulator"),
    [
        ("127.0.0.1", None, 1, True),
        ("::1", None, 1, True),
        ("0.0.0.0", None, 0, False),
        ("192.0.2.1", None, 0, False),
        ("127.0.0.1", {"secret": {"header": "x", "secret": "long-enough"}}, 1, False),
        ("0.0.0.0", {"simulator": True}, 0, True),
        ("127.0.0.1", {"simulator": False}, 0, False),
    ],
)
def test_what_is_there_on_which_host(tmp_path, host, told, channels, simulator):
    if told:
        (tmp_path / "settings.yml").write_text(yaml.safe_dump({"sms": told}))
    app = Sanic(f"where-{abs(hash((host, str(told))))}", configure_logging=False)
    assert len(service.install(app, tmp_path, host)) == channels
    assert ("sms_simulator" in app.blueprints) == simulator


def test_health_tells_of_text_messages(site):
    told = site.json("/health")["sms"]
    assert told == {
        "state": "ok",
        "webhook": True,
        "simulator": True,
        "waiting": 0,
        "given_up": 0,
    }


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("sms: [", "settings.yml, line"),
        ("- a\n- b\n", "settings.yml, line 1: these are no settings"),
        ("sms: {secret: {header: x}}", "settings.yml, sms: secret: give exactly one"),
    ],
)
def test_run_refuses_wrong_settings_before_it_starts_anything(fresh, text, what):
    (fresh / "settings.yml").write_text(text)
    done = lidwise("run", "--port", "0", "--data-dir", fresh)
    assert done.returncode == 1
    assert what in done.stderr
    assert "Traceback" not in done.stderr


def test_channel_that_cannot_be_made_is_told_in_the_log(fresh):
    told = {"connector": {"class": "nowhere.Channel"}}
    (fresh / "settings.yml").write_text(yaml.safe_dump({"sms": told}))
    done = lidwise("run", "--port", "0", "--data-dir", fresh)
    assert done.returncode == 1
    assert "did not start" in done.stderr
    log = (fresh / "logs" / "server.log").read_text()
    assert "connector: the channel 'nowhere.Channel' cannot be made" in log
    assert "Traceback" not in log


def test_settings_that_are_not_there(tmp_path):
    assert settings.load(tmp_path) == {}
    (tmp_path / "settings.yml").write_text("# nothing\n")
    assert settings.load(tmp_path) == {}
    (tmp_path / "settings.yml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(Failed, match="UTF-8"):
        settings.load(tmp_path)


# The page


@pytest.fixture
def page(site, tmp_path) -> Iterator[Page]:
    if browser.missing():
        pytest.skip(f"{browser.missing()} is not installed")
    driver = browser.start(tmp_path / "profile")
    page = Page(driver, site.address)
    yield page
    assert page.complaints() == []
    assert page.hosts() <= {page.host}
    assert page.cookies() == []
    driver.quit()


def text(page: Page, words: str) -> str:
    before = len(page.all("#thread > .mine"))
    page.one("#words").send_keys(words + Keys.ENTER)
    page.until(
        lambda: (
            len(page.all("#thread > .mine")) > before
            and page.all("#thread > :last-child:not(.mine)")
        ),
        "a reply came",
    )
    return page.words(page.all("#thread > *")[-1])


def test_page_of_the_simulator(page):
    for width, look in ((320, "light"), (1280, "dark")):
        page.size(width, 800)
        page.look(prefers_color_scheme=look)
        page.open("/sms-simulator")
        number = page.one("#number")
        number.clear()
        number.send_keys(f"07700 900{width % 1000}")
        assert page.violations() == []
        asked = text(page, "pizza box")
        assert "Reply 1 From a takeaway" in asked and "81 characters, 1 message" in asked
        assert "Pizza box: general waste" in text(page, "1")
        assert "no more texts" in text(page, "STOP")
        assert text(page, "tins") == "No reply was sent."
        assert page.violations() == []
        assert page.too_wide() <= 0
        assert page.one("#thread").aria_role == "log"
        assert page.focused() == "words"


def test_page_says_what_is_wrong_and_keeps_the_text(page):
    page.open("/sms-simulator")
    number = page.one("#number")
    number.clear()
    number.send_keys("01632 960118")
    page.one("#words").send_keys("old paint" + Keys.ENTER)
    page.until(lambda: page.one("#trouble").text, "trouble is told")
    assert page.one("#trouble").text.startswith("Use a number from 07700 900000")
    assert page.one("#words").get_attribute("value") == "old paint"
    page.unreachable = True
    page.driver.get_log("browser")
