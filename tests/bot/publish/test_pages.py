"""What the running server publishes, and the officer's page for it."""

from __future__ import annotations

import gzip
import io
import json
import random
import re
import zipfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from typing import Any
from urllib.parse import quote

import inflect
import pytest

from bot.publish import atoz, drawing, files, noted, records, routes
from bot.publish.lines import plain_day
from bot.record import books
from tests.bot.browser import Page
from tests.bot.officer import NEEDS, fits, officer, officer_driver, see, staff  # noqa: F401
from tests.bot.publish.asked import rules_in_force

BOOK = rules_in_force()
ON = date(2026, 11, 29)
SEED, SAMPLE = 20261129, 12
ADDRESSES = {k.id: k.of("tarnside").removesuffix(".html") for k in files.KINDS}


@pytest.mark.parametrize("kind", files.KINDS, ids=lambda k: k.id)
def test_address_serves_the_very_file(site, kind):
    path = f"/{ADDRESSES[kind.id]}?on={ON}"
    status, headers, body = site.request(path)
    assert (status, headers["content-type"]) == (200, kind.type)
    assert body == kind.make(BOOK, "tarnside", ON)
    tag = headers["etag"]
    assert site.request(path, **{"if-none-match": tag})[0] == 304
    status, _, empty = site.request(path, method="HEAD")
    assert (status, empty) == (200, b"")
    status, packed, smaller = site.request(path, **{"accept-encoding": "gzip"})
    assert status == 200 and packed["etag"] == (
        f'"z{tag[1:]}' if "content-encoding" in packed else tag
    )
    if "content-encoding" in packed:
        assert gzip.decompress(smaller) == body and len(smaller) < len(body) / 3
    else:
        assert kind.id == "guide"


def test_form_of_the_data_is_served_beside_it(site):
    told = site.json(f"/a-to-z/tarnside.json?on={ON}")
    status, _, body = site.request(f"/a-to-z/{told['$schema']}")
    assert status == 200 and body == records.SCHEMA.read_bytes()


@pytest.mark.parametrize(
    "path",
    ["/a-to-z/nowhere", "/a-to-z/nowhere.csv", "/a-to-z/tarnside.xml", "/guide/tarnside",
     "/guide/nowhere.pdf", "/faq/tarnside.txt", "/tags/..%2Fmanifest.json", "/a-to-z/"],
)  # fmt: skip
def test_what_is_not_published_is_not_there(site, path):
    assert site.request(path)[0] == 404


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31", "soon"])
def test_day_out_of_the_way_is_answered(site, day):
    """Before the scheme it is its first day; what is no day is today."""
    assert site.request(f"/guide/oxmere.pdf?on={day}")[2].startswith(b"%PDF-")
    told = site.request(f"/tags/oxmere.txt?on={day}")[2].decode()
    shown = {"0001-01-01": "1 April 2026", "9999-12-31": "31 December 9999"}.get(
        day, plain_day(date.today())
    )
    assert f"As on {shown}." in told


def test_too_much_at_once_is_turned_away(site):
    """More days of the list than may wait, at the same time; the chat answers meanwhile."""
    start = date(2028, 1, 1).toordinal()
    days = [date.fromordinal(start + n) for n in range(routes.WAITING + 8)]
    with ThreadPoolExecutor(len(days)) as pool:
        asked = [pool.submit(site.request, f"/tags/oxmere.json?on={d}") for d in days]
        assert site.answer("pizza box", district="oxmere")["kind"] == "question"
        statuses = [a.result()[0] for a in asked]
    assert set(statuses) <= {200, 503} and statuses.count(200) >= routes.WAITING
    again = [site.request(f"/tags/oxmere.json?on={d}")[0] for d in days[-2:]]
    assert again == [200, 200]


def test_list_allows_itself_no_request(site):
    _, headers, body = site.request(f"/a-to-z/oxmere?on={ON}")
    policy = headers["content-security-policy"]
    assert policy.startswith("default-src 'none'; style-src 'sha256-")
    text = body.decode()
    assert f'content="{policy.split("; frame-ancestors")[0]}"'.replace("'", "&#39;") in text
    # The only address in it is the scheme's own, to be followed and not to be loaded.
    assert set(re.findall(r'(?:src|href)="(https?:[^"]*)"', text)) == {BOOK.scheme.web}
    assert not re.search(r"@import|url\(|<link|<img|\bsrc=", text)


def test_published_line_is_what_the_channel_answers(site):
    """A sample, through the server's own routes on both sides."""
    told = site.json(f"/a-to-z/tarnside.json?on={ON}")["lines"]
    plain = [x for x in told if not x["when"] and x["destination"] != "emergency"]
    for number, line in enumerate(random.Random(SEED).sample(plain, SAMPLE)):
        on = line["from"] or ON.isoformat()
        message = f"where does this go: {line['name']}"
        answer = site.answer(message, f"published-{number}", district="tarnside", on=on)
        (entry,) = answer["items"]
        for field in ("destination", "container", "prepare", "caution", "rule", "source"):
            assert entry[field] == line[field], (line["name"], field)


# ---- the list in a browser


@pytest.fixture
def shown(officer_driver: Any, site: Any) -> Iterator[Page]:  # noqa: F811
    page = Page(officer_driver, site.address)
    page.fresh()
    yield page
    assert page.complaints() == []
    assert page.hosts() <= {page.host}


def open_list(page: Page, district: str = "tarnside") -> None:
    page.driver.get(f"{page.address}/a-to-z/{district}?on={ON}")


def search(page: Page, text: str) -> list[str]:
    """The names that are found, as they stand on the page."""
    box = page.one("#query")
    box.clear()
    box.send_keys(text)
    page.until(lambda: page.one("#told").text or not text, "it was searched")
    told = page.one("#told").text
    page.until(lambda: page.js("return document.querySelector('#query').value") == text, "typed")
    page.js(
        "document.querySelector('#search').dispatchEvent(new Event('submit', {cancelable: true}))"
    )
    assert told or page.one("#told").text
    return [e.text.split("\n")[0] for e in page.all("#found dt")]


@NEEDS
def test_list_is_accessible_and_fits(shown):
    """The whole list once, as axe takes its time over it; then what is found in it."""
    shown.size(360)
    open_list(shown)
    assert shown.violations() == []
    assert shown.too_wide() <= 0
    shown.size(1280)
    assert shown.too_wide() <= 0
    assert search(shown, "battery")
    assert shown.violations() == []
    shown.look(prefers_color_scheme="dark")
    assert shown.violations() == []


@NEEDS
def test_search_finds_and_gives_the_list_back(shown):
    open_list(shown)
    found = search(shown, "pizzza boxs")
    assert found[0].startswith("Pizza box")
    assert "found" in shown.one("#told").text
    assert not shown.one("#all").is_displayed()
    assert search(shown, "xyzzy plugh") == []
    assert "Nothing found" in shown.one("#told").text
    shown.one("#clear").click()
    assert shown.one("#all").is_displayed() and shown.focused() == "query"


@NEEDS
def test_every_drawing_is_the_chats(shown):
    """`drawing.py` and `swatch.js` draw the same paths in the same classes for every container."""
    shown.driver.get(shown.address + "/web/mark.svg")
    names = sorted(
        {c.name for d in BOOK.districts.values() for c in d.containers} | {"tub", "red box"}
    )
    theirs = shown.driver.execute_async_script(
        "const [names, done] = arguments;"
        "import('/web/swatch.js').then(({swatch}) => done(names.map((n) => {"
        "  const drawn = swatch(n, 'bin');"
        "  return [...drawn.querySelectorAll('*')].map((e) => [e.tagName, e.getAttribute('class'),"
        "    e.getAttribute('d'), e.getAttribute('transform'), e.getAttribute('cx')]);"
        "})))",
        names,
    )
    pattern = re.compile(r"<(path|circle|g)\b([^>]*?)/?>")
    for name, expected in zip(names, theirs, strict=True):
        mine = []
        for tag, rest in pattern.findall(drawing.inner(name)):
            told = dict(re.findall(r'(\w+)="([^"]*)"', rest))
            mine.append([tag, *(told.get(k) for k in ("class", "d", "transform", "cx"))])
        assert mine == expected, name


FIND = """
const wanted = arguments[0];
return wanted.map(([id, text]) => lidwise.find(lidwise.items, text).indexOf(id));
"""


def slipped(text: str, chance: random.Random) -> str:
    """A name with one slip in its longest word: two letters swapped, one missing, one twice."""
    word = max(text.split(), key=len)
    at = chance.randrange(1, len(word) - 1)
    kind = chance.randrange(3)
    if kind == 0:
        wrong = word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    elif kind == 1:
        wrong = word[:at] + word[at + 1 :]
    else:
        wrong = word[:at] + word[at] + word[at:]
    return text.replace(word, wrong, 1)


@NEEDS
def test_search_finds_by_every_kind_of_name(shown):
    """Names of all sorts; plurals by the package `inflect`; slips drawn with a fixed seed."""
    open_list(shown)
    chance, plural = random.Random(SEED), inflect.engine().plural
    names = [(i.id, n) for i in BOOK.items.values() for n in (i.name, *i.also)]
    some = chance.sample(names, 120)
    single = [(i, n) for i, n in some if not n.endswith("s")]
    many = [(i, plural(n)) for i, n in single]
    slips = [(i, slipped(n, chance)) for i, n in some if len(max(n.split(), key=len)) >= 6]
    shares = {}
    for kind, asked in {"names": some, "plurals": many, "slips": slips}.items():
        ranks = shown.js(FIND, [list(a) for a in asked])
        shares[kind] = (
            sum(0 <= r < 3 for r in ranks) / len(ranks),
            sum(r >= 0 for r in ranks) / len(ranks),
        )
    assert shares["names"] == (1.0, 1.0)
    assert shares["plurals"][0] >= 0.98
    assert shares["slips"][0] >= 0.95


@NEEDS
def test_without_javascript_the_whole_list_is_there(shown):
    shown.cdp("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        open_list(shown)
        assert not shown.one("#search").is_displayed()
        assert len(shown.all("#list .item")) == len(BOOK.items)
        assert shown.one("#pizza_box").is_displayed()
        assert "In the navy bin" in shown.one("#pizza_box").text
    finally:
        shown.cdp("Emulation.setScriptExecutionDisabled", {"value": False})


@NEEDS
def test_saved_list_works_from_a_disk(shown, tmp_path):
    """One file, opened without any server."""
    (tmp_path / "list.html").write_bytes(atoz.page(BOOK, "oxmere", ON))
    shown.driver.get((tmp_path / "list.html").as_uri())
    assert search(shown, "batterys")
    assert shown.shown("#found .swatch")
    asked = [
        e
        for e in shown.driver.get_log("performance")
        if 'Network.requestWillBeSent"' in e["message"]
    ]
    urls = {json.loads(e["message"])["message"]["params"]["request"]["url"] for e in asked}
    assert all(u.startswith("file:") for u in urls if u != "about:blank")


# ---- the officer's page


def test_page_lists_every_file_and_each_is_there(staff):  # noqa: F811
    body = staff.page("/officer/publish")
    for district in BOOK.districts:
        for kind in files.KINDS:
            assert f'href="/{kind.of(district).removesuffix(".html")}"' in body
    assert BOOK.version in body
    snippets = re.findall(r"<textarea[^>]*>(.*?)</textarea>", body, re.S)
    assert len(snippets) == 2 * len(BOOK.districts)
    assert snippets[0].startswith("&lt;script type=&#34;application/ld+json&#34;&gt;")


def test_page_for_another_day(staff):  # noqa: F811
    body = staff.page("/officer/publish?on=2027-03-31")
    assert "/guide/oxmere.pdf?on=2027-03-31" in body and "31 March 2027" in body
    assert "is no date" in staff.page("/officer/publish?on=soon")
    assert "The rules begin on" in staff.page("/officer/publish?on=2020-01-01")
    assert "<b>x" not in staff.page(f"/officer/publish?on={quote('<b>x')}")


def test_zip_holds_what_is_served_and_noting_it_is_told(staff, site, running):  # noqa: F811
    assert "nothing yet" in staff.page("/officer/publish") or noted.last(running.data)
    body = raw(staff, f"/officer/publish/all.zip?on={ON}")
    assert body == raw(staff, f"/officer/publish/all.zip?on={ON}")
    with zipfile.ZipFile(io.BytesIO(body)) as archive:
        held = {n: archive.read(n) for n in archive.namelist()}
    told = json.loads(held.pop("manifest.json"))
    assert told["files"] == files.sums(held)
    assert held["tags/oxmere.txt"] == site.request(f"/tags/oxmere.txt?on={ON}")[2]
    old = staff.send("/officer/publish/noted", on=str(ON), rules="0" * 12)
    assert "Nothing was noted" in old
    page = staff.send("/officer/publish/noted", on=str(ON), rules=BOOK.version)
    assert "Noted as published." in page
    last = noted.last(running.data)
    assert last and last.files == told["files"] and last.by == "page-officer"
    assert f"rules <code>{BOOK.version}</code>, for 29 November 2026" in staff.page(
        "/officer/publish"
    )


def test_what_is_out_of_date_is_told(staff, running):  # noqa: F811
    told = noted.note(running.data, BOOK, date.today(), ["oxmere", "tarnside"], {}, "ann")
    assert "Out of date for Pellbrook." in staff.page("/officer/publish")
    other = json.loads((running.data / noted.FILE).read_text())
    other |= {"rules": "0" * 12, "answers": {**told.answers, "pellbrook": ""}}
    (running.data / noted.FILE).write_text(json.dumps(other))
    page = staff.page("/officer/publish")
    assert "Out of date for Pellbrook." in page and "/officer/compare?old" not in page
    books.keep(running.data, {"a.yml": "x"}, "0" * 12)
    try:
        assert f'href="/officer/compare?old={"0" * 12}"' in staff.page("/officer/publish")
    finally:
        books.path_of(running.data, "0" * 12).unlink()
        (running.data / noted.FILE).unlink()


def raw(staff: Any, path: str) -> bytes:  # noqa: F811
    with staff.opener.open(staff.address + path, timeout=120) as found:
        return bytes(found.read())


@NEEDS
def test_officers_page_is_accessible_and_fits(officer):  # noqa: F811
    fits(officer, "/officer/publish")
    for part in officer.all(".copy summary"):
        part.click()
    assert officer.violations() == []
    text = officer.all(".copy[open] textarea")[0]
    officer.all(".copy[open] button")[0].click()
    officer.until(lambda: "Cop" in officer.all(".copy [role=status]")[0].text, "it was copied")
    assert text.get_attribute("value").startswith('<script type="application/ld+json">')
