"""The officer's pages about changes, rule files and examples, on the running assistant."""

from __future__ import annotations

import re
import time
from pathlib import Path
from typing import Any

import pytest

from bot.changes.store import Changes
from tests.bot.officer import NEEDS, fits, officer, officer_driver, see, staff  # noqa: F401
from tests.bot.staff import Staff
from tests.bot.waiting import until

WORD = "flummet strainer"
ASK = f"where does a {WORD} go"


def items(site: Any, text: str, **more: Any) -> list[tuple[str | None, str | None]]:
    told = site.answer(text, district="oxmere", on="2026-12-01", **more)["items"]
    return [(i["item"], i["destination"]) for i in told]


def seen(page: str) -> str:
    found = re.search(r'name="seen" value="([0-9a-f]+)"', page)
    assert found, page
    return found[1]


def form(page: str) -> dict[str, str]:
    """The fields of the form of a rule file, as a browser would send them."""
    text = re.search(r'<textarea id="text"[^>]*>\n(.*?)</textarea>', page, re.S)
    made = re.search(r'name="made_from" value="(\w+)"', page)
    assert text and made, page
    plain = text[1].replace("&#39;", "'").replace("&#34;", '"').replace("&gt;", ">")
    return {"text": plain.replace("&lt;", "<").replace("&amp;", "&"), "made_from": made[1]}


@pytest.fixture
def store(running: Any) -> Changes:
    return Changes(running.data, running.rules)


@pytest.fixture
def tidy(running: Any, site: Any, store: Changes) -> Any:
    """The rules and examples as they were, in the end; and no change left that waits."""
    before = store.places.all()
    version = site.json("/health")["book"]["version"]
    yield
    for change in store.all():
        if change.state == "proposed":
            store.drop(change.id, "tidy")
    now = store.places.all()
    if now != before:
        store.places.write(
            {n: before.get(n) for n in {*now, *before} if now.get(n) != before.get(n)}
        )
    until(
        lambda: (
            (told := site.json("/health"))["book"]["state"] == "in force"
            and told["book"]["version"] == told["actions"].get("book") == version
        ),
        "the rules are as they were",
        240,
    )


def test_the_whole_way(site: Any, running: Any, staff: Staff, store: Changes, tidy: Any) -> None:  # noqa: F811
    """From an unknown word to the right answer in the chat, with an example that then guards it;
    a rule file saved by hand that breaks the example stays out."""
    first = site.json("/health")["book"]["version"]
    assert items(site, ASK, sender="whole-way") == [(None, "residual")]

    # The officer edits a rule file on its page …
    path = "/officer/rules/items/containers_metal.yml"
    page = staff.page(path)
    told = form(page)
    assert "  metal_lid:" in told["text"]
    edited = re.sub(
        r"(  metal_lid:\n(?:    .*\n)*?    also: \[)", rf"\1{WORD}, ", told["text"], count=1
    )
    assert edited != told["text"]
    fields = {"title": "A strainer is a metal lid", "questions": ASK, "district": "oxmere"}
    page = staff.send(path, made_from=told["made_from"], text=edited, **fields)
    (rule,) = [c for c in store.all() if c.state == "proposed"]
    assert (rule.title, rule.by) == ("A strainer is a metal lid", "page-officer")
    assert "Passed." in page and f"<ins>{WORD}, </ins>" in page
    assert "not in the rules: residual" in page and "metal_lid: mixed_recycling" in page
    assert items(site, ASK) == [(None, "residual")], "nothing goes live unread"

    # … saves the conversation with the right answer …
    draft = staff.page("/officer/examples/new?conversation=whole-way")
    assert f'value="{ASK}"' in draft and '<option value="residual" selected>' in draft
    saved = {
        "name": "A flummet strainer",
        "about": "It is metal.",
        "shows": "a new name",
        "channel": "webchat",
        "district": "oxmere",
        "on": "2026-12-01",
        "say-0": ASK,
        "kind-0": "answer",
        "item-0-0": "metal_lid",
        "destination-0-0": "mixed_recycling",
    }
    page = staff.send("/officer/examples/new", **saved)
    example = next(c for c in store.all() if c.title == "Example: a_flummet_strainer")
    assert "This cannot be applied yet." in page and 'name="seen"' not in page
    assert "examples/conversations/a_flummet_strainer.yml, line 7" in page
    assert f"after &#39;{ASK}&#39; " in page
    refused = staff.send(f"/officer/changes/{example.id}/apply", 409, seen=example.digest)
    assert "The check fails, so nothing was changed" in refused

    # … joins the two, reads, and applies.
    page = staff.send(f"/officer/changes/{rule.id}/join", other=example.id)
    assert "Passed." in page and "1 conversation (1 message) played" in " ".join(page.split())
    stale = staff.send(f"/officer/changes/{rule.id}/apply", 409, seen=rule.digest)
    assert "This is not the difference you read" in stale
    servers = [p.pid for p in running.servers()]
    page = staff.send(f"/officer/changes/{rule.id}/apply", seen=seen(page))
    assert "Applied. The chat answers by the new rules in a moment." in page
    start = time.monotonic()
    until(lambda: items(site, ASK) == [("metal_lid", "mixed_recycling")], "the chat knows it", 240)
    print(f"in the chat after {time.monotonic() - start:.1f} s")
    assert [p.pid for p in running.servers()] == servers, "without a restart"

    # The example now guards the rule, also against an editor.
    file = running.rules / "items" / "containers_metal.yml"
    right = file.read_text(encoding="utf-8")
    file.write_text(right.replace(f"{WORD}, ", ""), encoding="utf-8")
    health = until(
        lambda: (h := site.json("/health"))["book"]["state"] == "old book in force" and h,
        "the book is refused",
        240,
    )
    for mistake in health["book"]["mistakes"]:
        place = mistake["file"], mistake["line"]
        assert place == ("examples/conversations/a_flummet_strainer.yml", 7)
    whats = " ".join(m["what"] for m in health["book"]["mistakes"])
    assert "the kind is 'cautious', not answer" in whats
    assert "'metal_lid: mixed_recycling' is not in the reply" in whats
    assert items(site, ASK) == [("metal_lid", "mixed_recycling")]
    assert first != site.json("/health")["book"]["version"]


def test_file_that_cannot_be_read_is_not_proposed(staff: Staff, store: Changes) -> None:  # noqa: F811
    before = len(store.all())
    path = "/officer/rules/items/ash.yml"
    told = form(staff.page(path))
    wrong = told["text"].replace("goes: residual", "goes: resdual", 1)
    page = staff.send(path, 400, **{**told, "text": wrong, "title": "Keep me"})
    assert "items/ash.yml, line " in page and "Did you mean &#39;residual&#39;?" in page
    assert "goes: resdual" in page and 'value="Keep me"' in page, "what was typed is kept"
    page = staff.send(path, 409, **told)
    assert "This would change nothing." in page
    assert len(store.all()) == before


def test_file_changed_while_the_page_was_open(
    staff: Staff,  # noqa: F811
    store: Changes,
    running: Any,
    tidy: Any,
) -> None:
    path = "/officer/rules/items/ash.yml"
    told = form(staff.page(path))
    file: Path = running.rules / "items" / "ash.yml"
    was = file.read_bytes()
    file.write_bytes(was + b"# somebody else\n")
    page = staff.send(path, 409, **{**told, "text": told["text"] + "# mine\n"})
    file.write_bytes(was)
    assert "Somebody changed this file while you had it open" in page
    assert "# mine" in page and "<code># somebody else</code>" in page
    assert not [c for c in store.all() if c.state == "proposed"]


def test_a_change_that_waits_is_edited_further(staff: Staff, store: Changes, tidy: Any) -> None:  # noqa: F811
    text = store.places.text("book/items/ash.yml")
    assert text is not None
    first = store.propose(
        "Ash", {"book/items/ash.yml": text.replace("goes: resi", "goes: rsi", 1)}, by="a"
    )
    page = staff.page(f"/officer/changes/{first.id}")
    link = f"/officer/rules/items/ash.yml?change={first.id}"
    assert "1 mistake. This cannot be applied yet." in page and f'href="{link}"' in page
    told = form(staff.page(link))
    assert "goes: rsidual" in told["text"]
    right = told["text"].replace("goes: rsi", "goes: resi") + "# read through\n"
    staff.send("/officer/rules/items/ash.yml", **{**told, "text": right}, instead=first.id)
    assert store.get(first.id).state == "dropped"
    (left,) = [c for c in store.all() if c.state == "proposed"]
    assert left.files == {"book/items/ash.yml": text + "# read through\n"}


@pytest.mark.parametrize(
    "path",
    ["/officer/changes/20261201-abcdef", "/officer/changes/x", "/officer/rules/no.yml",
     "/officer/rules/..%2f..%2fREADME.md", "/officer/rules/../../pyproject.toml",
     "/officer/examples/new?conversation=nobody", "/officer/examples/new"],
)  # fmt: skip
def test_what_is_not_there(staff: Staff, path: str) -> None:  # noqa: F811
    body = staff.page(path, 404)
    assert "Traceback" not in body and "<h1>" in body


def test_wrong_example_says_what_to_mend(staff: Staff, store: Changes) -> None:  # noqa: F811
    before = len(store.all())
    told = {
        "name": "!!",
        "about": "x",
        "shows": "y",
        "channel": "webchat",
        "district": "",
        "on": "2026-12-01",
        "say-0": "hello",
        "kind-0": "small_talk",
    }
    assert "Give the example a name" in staff.send("/officer/examples/new", 400, **told)
    told |= {"name": "hi", "on": "soon"}
    page = staff.send("/officer/examples/new", 400, **told)
    assert "examples/conversations/hi.yml, line 5" in page and 'value="hello"' in page
    assert len(store.all()) == before


@NEEDS
def test_pages_are_accessible_and_fit(officer: Any, store: Changes, tidy: Any) -> None:  # noqa: F811
    text = store.places.text("book/items/ash.yml")
    assert text is not None
    made = store.propose(
        "Ash", {"book/items/ash.yml": text.replace("goes: resi", "goes: rsi", 1)}, by="a"
    )
    for path in ("changes", f"changes/{made.id}", "rules", "rules/items/ash.yml", "examples"):
        fits(officer, f"/officer/{path}")
    see(officer, f"/officer/changes/{made.id}")
    told = [officer.words(row) for row in officer.all("table.diff tr.gone, table.diff tr.added")]
    assert any("removed" in t for t in told) and any("added" in t for t in told)
