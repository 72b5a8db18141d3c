"""The contract, the pages and the state of each part, over HTTP."""

from __future__ import annotations

import gzip
import json
import sqlite3
import threading
from contextlib import closing
from html.parser import HTMLParser

import jsonschema
import pytest

from bot import paths
from rules import load
from tests.bot.conftest import BOOK, Site

SCHEMA = json.loads((paths.PROJECT / "actions" / "answer.schema.json").read_text(encoding="utf-8"))
WHEN = {"district": "oxmere", "on": "2027-02-10"}


def test_answer_fits_the_contract(site):
    messages = site.say("where do AAA batteries go", "contract-1", **WHEN)
    assert all(m["recipient_id"] == "contract-1" for m in messages)
    (answer,) = [m["custom"] for m in messages if "custom" in m]
    jsonschema.validate(answer, SCHEMA)
    assert answer["kind"] == "answer"
    assert answer["on"] == "2027-02-10"
    assert [i["destination"] for i in answer["items"]] == ["battery_bag"]


def test_question_and_its_answer_in_one_conversation(site):
    first = site.answer("pizza box", "talk-1", **WHEN)
    assert (first["kind"], first["asks"]["condition"]) == ("question", "food_origin")
    second = site.answer("it was a takeaway", "talk-1", **WHEN)
    assert [i["destination"] for i in second["items"]] == ["residual"]


def test_long_conversation_still_remembers_its_question(site):
    for _ in range(12):
        site.answer("where do AAA batteries go", "long-1", **WHEN)
    assert site.answer("pizza box", "long-1", **WHEN)["kind"] == "question"
    second = site.answer("cooked at home", "long-1", **WHEN)
    assert [i["destination"] for i in second["items"]] == ["mixed_recycling"]


def test_every_event_of_a_long_conversation_is_kept(site, running):
    said = [f"pizza box number {n}" for n in range(10)]
    for text in said:
        site.say(text, "kept-1")
    with closing(sqlite3.connect(running.data / "conversations.db")) as store:
        rows = store.execute(
            "SELECT data FROM events WHERE sender_id = 'kept-1' AND type_name = 'user' ORDER BY id"
        ).fetchall()
    assert [json.loads(data)["text"] for (data,) in rows] == said


def test_one_conversation_keeps_its_order_and_others_do_not_mix(site):
    found: dict[str, str] = {}

    def talk(name: str, district: str) -> None:
        site.answer("pizza box", name, district=district)
        answer = site.answer("home cooked", name, district=district)
        found[name] = answer["items"][0]["destination"]

    threads = [
        threading.Thread(target=talk, args=(f"mix-{n}", ("oxmere", "pellbrook")[n % 2]))
        for n in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == {f"mix-{n}": ("mixed_recycling", "paper_card")[n % 2] for n in range(8)}


def test_messages_of_one_sender_at_once_are_all_answered(site):
    kinds: list[str] = []
    threads = [
        threading.Thread(
            target=lambda: kinds.append(site.answer("used tissues", "same-1", **WHEN)["kind"])
        )
        for _ in range(6)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert kinds == ["answer"] * 6


def test_text_message_is_shorter(site):
    web = site.say("where do AAA batteries go", **WHEN)[0]["text"]
    sms = site.say("where do AAA batteries go", channel="sms", **WHEN)[0]["text"]
    assert len(sms) < len(web)
    assert len(sms) <= 306


def test_health_tells_of_each_part(site):
    told = site.json("/health")
    assert told["status"] == "ok"
    assert [told[part]["state"] for part in ("model", "actions", "store")] == ["ok"] * 3
    assert told["book"]["state"] == "in force"
    assert told["book"]["version"] == told["actions"]["book"]
    assert told["book"]["items"] >= len(load(BOOK).items)
    assert told["book"]["loaded_at"] and told["book"]["mistakes"] == []


def test_action_server_does_without_the_framework(running):
    server = running.one("bot.action_server")
    (port,) = {c.laddr.port for c in server.net_connections() if c.status == "LISTEN"}
    assert running.one("bot.server").memory_info().rss > 2 * server.memory_info().rss
    assert Site(f"http://127.0.0.1:{port}").json("/state")["loaded"] == []


def test_action_server_listens_on_this_machine_only(running):
    listening = [
        c for c in running.one("bot.action_server").net_connections() if c.status == "LISTEN"
    ]
    assert {c.laddr.ip for c in listening} == {"127.0.0.1"}


def test_districts(site):
    told = site.json("/api/districts")
    assert {d["id"] for d in told["districts"]} == {"pellbrook", "oxmere", "tarnside"}
    assert all(d["name"] for d in told["districts"])
    assert told["scheme"]["phone"] == "01632 960118"
    assert len(told["today"]) == 10


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/", "text/html; charset=utf-8"),
        ("/web/chat.js", "text/javascript; charset=utf-8"),
        ("/web/chat.css", "text/css; charset=utf-8"),
        ("/web/mark.svg", "image/svg+xml"),
    ],
)
def test_files_of_the_page(site, path, kind):
    status, headers, body = site.request(path)
    assert (status, headers["content-type"]) == (200, kind)
    if path == "/":
        assert body.startswith((paths.WEB / "index.html").read_bytes()[:100])
        assert b"[[" not in body, "each place of the template is filled"
    else:
        assert body == (paths.WEB / path.removeprefix("/web/")).read_bytes()
    assert headers["cache-control"] == "no-cache"
    again, _, nothing = site.request(path, **{"if-none-match": headers["etag"]})
    assert (again, nothing) == (304, b"")
    other, _, _ = site.request(path, **{"if-none-match": '"else"'})
    assert other == 200


@pytest.mark.parametrize(
    "path",
    [
        "/web/../cli.py",
        "/web/..%2fcli.py",
        "/web/%2e%2e%2fcli.py",
        "/web/..%5ccli.py",
        "/web//etc/passwd",
        "/web/",
        "/web/chat.js%00.css",
        "/nowhere",
        "/items/nowhere",
    ],
)
def test_nothing_else_is_served(site, path):
    status, _, body = site.request(path)
    assert status == 404
    assert b"import" not in body and b"root:" not in body


@pytest.mark.parametrize(
    "path", ["/", "/items", "/nowhere", "/health", "/api/districts", "/web/chat.js"]
)
def test_every_response_is_safe_to_show(site, path):
    _, headers, _ = site.request(path)
    assert headers["content-security-policy"].startswith("default-src 'self';")
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"
    assert not [h for h in headers if h.lower() == "set-cookie"]


class Entries(HTMLParser):
    """The items of the list, the links, and the ids."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.text: dict[str, str] = {}
        self.links: list[str] = []
        self.ids: list[str] = []
        self.now = ""
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        if "id" in found:
            self.ids.append(found["id"])
        if tag == "dt":
            self.now = found["id"]
        if tag in ("section", "footer"):
            self.now = ""
        if tag == "a":
            self.links.append(found["href"])

    def handle_data(self, data):
        if self.now:
            self.text[self.now] = self.text.get(self.now, "") + data


def test_list_has_every_item_and_its_outcomes(site):
    page = Entries(site.request("/items?on=2027-02-10")[2].decode())
    book = load(BOOK)
    assert set(book.items) <= set(page.text)
    assert len(page.ids) == len(set(page.ids))
    assert all(link[1:] in page.ids for link in page.links if link.startswith("#"))
    box = page.text["pizza_box"]
    assert "From a takeaway" in box and "Cooked at home" in box
    assert "maroon bin" in box and "bin with an orange lid" in box


def test_list_of_one_district_on_a_day(site):
    before = Entries(site.request("/items/tarnside?on=2027-01-31")[2].decode())
    after = Entries(site.request("/items/tarnside?on=2027-02-01")[2].decode())
    assert "green box" in before.text["glass_jar"]
    assert "teal bin" in after.text["glass_jar"]
    assert "maroon bin" not in " ".join(after.text.values())


def test_list_needs_no_script(site):
    page = site.request("/items")[2].decode()
    assert "<script" not in page and " style=" not in page
    assert '<html lang="en-GB">' in page


def test_chat_page_is_packed_for_who_can_unpack_it(site):
    plain = site.request("/")
    packed = site.request("/", **{"accept-encoding": "gzip"})
    assert packed[1]["content-encoding"] == "gzip" and "content-encoding" not in plain[1]
    assert gzip.decompress(packed[2]) == plain[2]
    assert packed[1]["vary"] == "accept-encoding" and packed[1]["etag"] != plain[1]["etag"]


def test_chat_page_has_the_list_of_the_day_and_district(site):
    page = site.request("/?district=tarnside&on=2027-01-31")[2].decode()
    after = site.request("/?district=tarnside&on=2027-02-01")[2].decode()
    assert "as on 31 January 2027" in page and "the white sack" in page
    assert "the white sack" not in after and "the grey bin with a yellow lid" in after
    assert site.request("/?district=nowhere&on=x")[0] == 200
