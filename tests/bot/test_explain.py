"""`lidwise explain` and the officer's page of conversations."""

from __future__ import annotations

import json
import re
import sqlite3
import uuid
from contextlib import closing
from datetime import date, timedelta
from urllib.parse import quote

import pytest
from typer.testing import CliRunner

from bot import cli
from bot.explain import rows, search
from bot.explain.story import known_now, story, today
from bot.explain.turns import turns
from bot.processes import Failed
from bot.record.entry import Entry
from bot.record.store import Record
from rules import load
from rules.loader import read_files
from tests.bot.conftest import BOOK
from tests.bot.officer import NEEDS, fits, officer, officer_driver, see, staff  # noqa: F401

RULES = load()
TEXTS = read_files(BOOK)


# ---- the rule of an answer


def every_rule():
    for table in rows.tables(RULES):
        for number, row in enumerate(table.rows, 1):
            yield f"{table.where.file}: {table.name}, row {number}", row


def test_every_row_of_the_book_is_found_again_with_its_lines():
    found = 0
    for rule, row in every_rule():
        passage = rows.passage(RULES, TEXTS, rule)
        assert passage, rule
        assert row.goes is None or row.goes in passage.text, rule
        assert passage.text.startswith("- "), rule
        assert passage.text.count("\n- ") == 0, rule
        found += 1
    assert found > 500


@pytest.mark.parametrize(
    "rule", ["dangers.yml: battery, live danger", "items/paper_card.yml: pizza_box, row 5"]
)
def test_lines_begin_with_the_rule(rule):
    passage = rows.passage(RULES, TEXTS, rule)
    assert TEXTS[passage.file].splitlines()[passage.line - 1].strip() in passage.text


@pytest.mark.parametrize("rule", ["", "x.yml: y, row 1", "items/paper_card.yml: pizza_box, row 99"])
def test_rule_that_is_not_there_is_none(rule):
    assert rows.passage(RULES, TEXTS, rule) is None


# ---- today's rules


def entry(**more):
    told = {"id": 1, "at": "2026-11-01T00:00:00+00:00", "conversation": "c", "turn": None}
    told |= {"channel": "rest", "demo": False, "district": "oxmere", "on": "2026-11-01"}
    told |= {"kind": "answer", "question": "q", "intent": "ask", "confidence": 1.0, "book": "b"}
    return Entry(**{**told, **more})


def test_today_says_the_same_or_otherwise():
    kept = {"item": "mug", "asked": "mug", "facts": {}, "assumed": [], "asked_as": "mug"}
    book = RULES.container("oxmere", "residual", date.today())
    was = {**kept, "destination": "emergency", "container": None, "rule": "r"}
    words, differs = today(entry(), was)
    assert differs and words.startswith("Today’s rules say otherwise: ")
    gone = {**kept, "item": "gone", "asked": "gone", "destination": "residual", "container": "x"}
    assert today(entry(), gone) == ("Today’s rules have no item “gone”.", True)
    unknown = {"item": None, "asked": None, "asked_as": "a didgeridoo", "facts": {}}
    unknown |= {"destination": "residual", "container": book.name, "rule": "x: fallback"}
    assert today(entry(kind="cautious"), unknown)[1] is False


def test_thing_that_has_a_rule_by_now_is_known():
    assert known_now(RULES, "a pizza box") == "pizza_box"
    assert known_now(RULES, "a didgeridoo") is None


# ---- a running server's conversations


@pytest.fixture(scope="module")
def talked(site):
    """A conversation of three turns; its name is no plain word on purpose."""
    name = f"explain/odd name?{uuid.uuid4().hex}"
    said = ("my name is Sarah Smith, does a pizza box go in", "it was delivered last night")
    for number, text in enumerate(said):
        more = {"message_id": f"m{number}"}
        site.say(text, name, district="tarnside", on="2026-12-01", **more)
    body = {"sender": name, "message_id": "m1", "kind": "wrong", "note": "It was clean."}
    assert site.request("/api/remarks", json.dumps(body).encode(), "POST")[0] == 201
    site.say("a didgeridoo", name, district="tarnside", on="2026-12-01")
    return name


def test_story_has_question_rule_facts_book_and_memory(talked, running):
    asked, answered, careful = story(running.data, talked)
    assert asked.entry.question == "my name is [name], does a pizza box go in"
    assert ("thing", "pizza box (“pizza box”)") in asked.understood
    assert asked.things[0].goes == "asked back first"
    assert any(m.startswith("waits for an answer: pizza box") for m in asked.remembered)
    (box,) = answered.things
    assert box.goes == "navy bin" and box.stated == ("food origin: From a takeaway",)
    assert box.passage.file == "items/paper_card.yml" and "takeaway" in box.passage.text
    assert box.source == "Policy 3" and not box.differs
    assert ("condition", "food origin: From a takeaway (“delivered”)") in answered.understood
    assert answered.answered[0].startswith("Pizza box: in the navy bin.")
    assert careful.entry.kind == "cautious" and careful.things[0].name == "not in the rules"
    assert [(r.kind, r.note) for r in answered.remarks] == [("wrong", "It was clean.")]
    assert not asked.remarks and not careful.remarks
    assert answered.book == RULES.version and answered.lack == ""


def test_book_that_was_not_kept_is_said(talked, running, tmp_path):
    (tmp_path / "conversations.db").write_bytes((running.data / "conversations.db").read_bytes())
    wal = running.data / "conversations.db-wal"
    if wal.exists():
        (tmp_path / "conversations.db-wal").write_bytes(wal.read_bytes())
    steps = story(tmp_path, talked)
    assert all("is not kept" in step.lack for step in steps)
    assert steps[1].things[0].rule and steps[1].things[0].passage is None


def test_turns_older_than_the_record_are_shown_too(talked, running, tmp_path):
    source = sqlite3.connect(running.data / "conversations.db")
    copy = sqlite3.connect(tmp_path / "conversations.db")
    with closing(source), closing(copy):
        source.backup(copy)
        copy.execute("DELETE FROM answers")
        copy.commit()
    found = turns(tmp_path, talked)
    assert [t.entry.kind for t in found] == ["question", "answer", "cautious"]


def test_search_by_day_words_district_and_kind(talked, running):
    data, here = running.data, date.today()

    def names(**asked):
        return [h.conversation for h in search.find(data, search.Asked(**asked), 500)[0]]

    assert talked in names(on=here, about=["PIZZA", "delivered"][0], district="tarnside")
    assert talked in names(about="didgeridoo", kind="cautious", channel="rest")
    assert talked not in names(on=here - timedelta(days=2))
    assert talked not in names(about="pizza", district="oxmere")
    assert talked not in names(about="zzzz")
    assert names(about="100% sure_") == []
    first, more = search.find(data, search.Asked(), 1)
    assert len(first) == 1 and (more or len(names()) == 1)


def run(*arguments):
    return CliRunner().invoke(cli.app, ["explain", *map(str, arguments)])


def test_command_shows_and_lists(talked, running):
    told = run(talked, "--data-dir", running.data)
    assert told.exit_code == 0, told.output
    assert "rule        items/paper_card.yml, line" in told.output
    assert "       | - when: {food_origin: takeaway}" in told.output
    assert "Smith" not in told.output
    listed = run("--on", date.today(), "--about", "pizza", "--data-dir", running.data)
    assert listed.exit_code == 0 and ("Conversation " in listed.output or talked in listed.output)


def test_texter_is_found_by_number(site, running):
    body = json.dumps({"number": "07700 900655", "text": "a pizza box in oxmere"}).encode()
    kind = {"content-type": "application/json"}
    assert site.request("/sms-simulator/messages", body, "POST", **kind)[0] == 200
    told = run("--phone", "+44 7700 900655", "--data-dir", running.data)
    assert told.exit_code == 0 and "asked       a pizza box in oxmere" in told.output
    assert "No kept conversation" in run("--phone", "07700 900656", "-d", running.data).output


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["nobody"], "There is no conversation 'nobody'"),
        (["--on", "yesterday"], "'yesterday' is no date."),
        (["--on", "2019-01-01"], "No kept conversation fits."),
        (["c", "--about", "x"], "not both"),
    ],
)
def test_what_cannot_be_found_is_told_in_one_line(tmp_path, arguments, says):
    told = run(*arguments, "--data-dir", tmp_path)
    assert told.exit_code == 1 and says in told.output and told.output.count("\n") == 1


def test_no_conversation_raises(tmp_path):
    with pytest.raises(Failed):
        story(tmp_path, "nobody")


# ---- the pages


def path_of(name):
    return f"/officer/conversations/{quote(name, safe='')}"


def test_page_lists_finds_and_shows(talked, staff):  # noqa: F811
    page = staff.page("/officer/conversations?words=didgeridoo&district=tarnside")
    assert path_of(talked) in page and "my name is [name]" in page
    assert path_of(talked) not in staff.page(
        "/officer/conversations?words=didgeridoo&day=2019-01-01"
    )
    assert "is no date" in staff.page("/officer/conversations?day=soon", status=400)
    shown = staff.page(path_of(talked))
    assert "items/paper_card.yml, line" in shown and "navy bin" in shown
    assert (
        f"/officer/examples/new?conversation={quote(talked, safe='').replace('%20', '+')}" in shown
    )
    assert "no such conversation" in staff.page("/officer/conversations/nobody", status=404)


def test_pages_follow_each_other(talked, site, staff):  # noqa: F811
    word = f"zither{uuid.uuid4().hex[:6]}"
    for n in range(27):
        site.say(f"a {word}", f"{word}-{n}")
    first = staff.page(f"/officer/conversations?words={word}")
    second = staff.page(f"/officer/conversations?words={word}&page=2")
    seen = [re.findall(rf"/officer/conversations/{word}-(\d+)", p) for p in (first, second)]
    assert [len(s) for s in seen] == [25, 2] and len({*seen[0], *seen[1]}) == 27
    assert 'rel="next"' in first and 'rel="next"' not in second and 'rel="prev"' in second


def test_forgetting_needs_a_tick_and_leaves_a_count(site, running, staff):  # noqa: F811
    name, word = f"forget-{uuid.uuid4().hex}", f"kazoo{uuid.uuid4().hex}"
    site.say(f"a {word}", name)
    (before,) = Record(running.data).of(name)
    assert "Tick the box" in staff.send("/officer/conversations/forget", conversation=name)
    assert Record(running.data).of(name)
    said = staff.send("/officer/conversations/forget", conversation=name, sure="yes")
    assert "Forgotten: " in said and "1 answers that stay as counts" in said
    assert Record(running.data).of(name) == []
    day = date.fromisoformat(before.at[:10])
    assert before.id in [e.id for e in Record(running.data).between(day, day)]
    files = [p for p in running.data.rglob("*") if p.is_file()]
    assert [p.name for p in files if word.encode() in p.read_bytes()] == []
    assert site.answer(f"a {word}", name)["kind"] == "cautious"


@NEEDS
def test_pages_are_accessible_and_fit(talked, officer):  # noqa: F811
    fits(officer, "/officer/conversations?words=didgeridoo")
    fits(officer, "/officer/conversations?words=zzzz")
    fits(officer, path_of(talked))
    for closed in officer.all("main details:not(.menu)"):
        closed.find_element("css selector", "summary").click()
    assert officer.violations() == [] and officer.too_wide() <= 0


def test_no_page_without_signing_in(site):
    for path in ("/officer/conversations", "/officer/conversations/x"):
        assert site.request(path, None, "GET")[0] in (401, 403)
