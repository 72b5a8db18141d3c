"""Every published line is what the assistant answers for that item, case, district and day.

The lines are taken from the published JSON file. What else is published is compared with that
file: the CSV and the page row by row, the questions sentence by sentence, guide and tags thing by
thing.
"""

from __future__ import annotations

import csv
import io
import json
from datetime import date
from functools import cache
from html.parser import HTMLParser
from itertools import groupby
from typing import Any

import pytest

from actions.phrases import capital
from bot.publish import files, guide, tags
from bot.publish.lines import lower_first
from rules.decide import leaves
from tests.bot.publish.asked import asked, combinations, days_of, rules_in_force

BOOK = rules_in_force()
AUTUMN, LATER = date(2026, 11, 29), date(2027, 2, 1)
EACH = [(d, day) for d in BOOK.districts for day in (AUTUMN, LATER)]
SAME = ("destination", "container", "prepare", "caution", "why", "rule", "source")


@cache
def published(district: str, day: date) -> dict[str, Any]:
    return dict(json.loads(files.json(BOOK, district, day)))


def lines_of(district: str, day: date, item: str) -> list[dict[str, Any]]:
    return [x for x in published(district, day)["lines"] if x["item"] == item]


@pytest.mark.parametrize(("district", "day"), EACH)
def test_every_line_is_the_assistants_answer(district, day):
    wrong, done = [], 0
    for line in published(district, day)["lines"]:
        for on in days_of(line, day, BOOK.turning_days()):
            for facts in combinations(line["when"]):
                entry, text = asked(BOOK, line["item"], facts, district, on)
                done += 1
                fault = [f for f in SAME if entry[f] != line[f]]
                if entry["destination"] == "emergency":
                    fault = [f for f in fault if f not in ("prepare", "caution", "why", "rule")]
                    said = ["999"]
                else:
                    said = [lower_first(line["where"]), *line["others"]]
                    said += [f"This holds if {line['holds_if']}."] if line["holds_if"] else []
                fault += [f"not said: {words}" for words in said if words not in text]
                if not line["holds_if"] and "This holds if" in text:
                    fault.append("holds only if")
                if len(line["others"]) != len(entry["alternatives"]):
                    fault.append("others")
                if fault:
                    wrong.append((line["item"], facts, on, fault))
    assert done > 900
    assert not wrong, f"{len(wrong)} of {done}: {wrong[:5]}"


@pytest.mark.parametrize(("district", "day"), EACH)
def test_every_answer_is_published_once(district, day):
    """For each item, each way of answering its questions and each day there is just one line."""
    wrong = []
    for item, group in groupby(published(district, day)["lines"], lambda x: x["item"]):
        told = list(group)
        for on in (day, *(t for t in BOOK.turning_days() if t > day)):
            iso = on.isoformat()
            for leaf in leaves(BOOK, district, on, item, {}, frozenset()):
                fit = [
                    x for x in told
                    if (x["from"] or "") <= iso <= (x["until"] or "9999")
                    and all(leaf.answers.get(c) in v for c, v in x["when"].items())
                ]  # fmt: skip
                if len(fit) != 1:
                    wrong.append((item, iso, dict(leaf.answers), len(fit)))
    assert not wrong, wrong[:5]
    assert {x["item"] for x in published(district, day)["lines"]} == set(BOOK.items)


@pytest.mark.parametrize("district", BOOK.districts)
def test_cases_of_an_item_differ_in_words(district):
    seen: dict[tuple[Any, ...], Any] = {}
    for line in published(district, AUTUMN)["lines"]:
        mark = line["item"], line["case"], line["from"]
        assert mark not in seen, mark
        seen[mark] = line


@pytest.mark.parametrize(("district", "day"), EACH)
def test_spreadsheet_says_the_same(district, day):
    text = files.csv(BOOK, district, day).decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    told = published(district, day)["lines"]
    assert len(rows) == len(told)
    names = {"Item": "name", "Which": "case", "Where it goes": "where", "Container": "container",
             "Code": "destination", "Take care": "caution", "This holds if": "holds_if",
             "From": "from", "Until": "until", "Why": "why", "Source": "source"}  # fmt: skip
    for row, line in zip(rows, told, strict=True):
        assert {n: row[n] for n in names} == {n: line[f] or "" for n, f in names.items()}
        assert row["Other names"].split("; ") == (line["also"] or [""])
        assert row["Get it ready"] == " ".join(line["prepare"])
        assert row["Other options"] == "; ".join(line["others"])


class Reader(HTMLParser):
    """The list as a person reads it: each item's name, and each of its lines in paragraphs."""

    def __init__(self) -> None:
        super().__init__()
        self.items: list[tuple[str, str, list[list[str]]]] = []
        self.inside = ""
        self.also = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "div" and told.get("class") == "item":
            self.items.append((told["id"] or "", "", []))
        elif tag == "dd" and told.get("class") != "rule":
            self.items[-1][2].append([])
        elif tag == "p" and self.inside == "dd":
            self.items[-1][2][-1].append("")
        if tag in ("dt", "dd"):
            self.inside = "rule" if told.get("class") == "rule" else tag
        self.also = self.also or (tag == "span" and self.inside == "dt")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("dt", "dd"):
            self.inside = ""
        if tag == "span":
            self.also = False

    def handle_data(self, data: str) -> None:
        if self.inside == "dt" and not self.also:
            item, name, told = self.items[-1]
            self.items[-1] = item, name + data, told
        elif self.inside == "dd" and self.items[-1][2][-1]:
            self.items[-1][2][-1][-1] += data


def in_words(iso: str) -> str:
    day = date.fromisoformat(iso)
    return f"{day.day} {day:%B %Y}"


def paragraphs(line: dict[str, Any]) -> list[str]:
    """What must stand in a line's paragraphs, but for the lead with case and days."""
    return [
        line["where"],
        *([f"Take care: {line['caution']}"] if line["caution"] else []),
        *([" ".join(line["prepare"])] if line["prepare"] else []),
        *([f"This holds if {line['holds_if']}."] if line["holds_if"] else []),
        *([f"Or: {'; or '.join(line['others'])}."] if line["others"] else []),
    ]


@pytest.mark.parametrize(("district", "day"), EACH)
def test_page_says_the_same(district, day):
    reader = Reader()
    reader.feed(files.atoz.page(BOOK, district, day).decode())
    shown = {item: (name.strip(), told) for item, name, told in reader.items}
    assert set(shown) == set(BOOK.items)
    for item, group in groupby(published(district, day)["lines"], lambda x: x["item"]):
        told = list(group)
        name, given = shown[item]
        assert name == told[0]["name"]
        assert len(given) == len(told)
        for texts, line in zip(([t.strip() for t in g] for g in given), told, strict=True):
            leads = texts[: len(texts) - len(paragraphs(line))]
            assert texts[len(leads) :] == paragraphs(line)
            expected = [line["case"], *(in_words(line[k]) for k in ("from", "until") if line[k])]
            lead = " ".join(leads)
            assert all(x in lead for x in expected if x), (item, lead, expected)
            assert bool(leads) == any(expected)


@pytest.mark.parametrize(("district", "day"), EACH)
def test_questions_are_answered_as_the_assistant_does(district, day):
    told = json.loads(files.faq_json(BOOK, district, day))["mainEntity"]
    assert BOOK.guide and len(told) == len(BOOK.guide.common)
    for item, question in zip(BOOK.guide.common, told, strict=True):
        place = BOOK.districts[district].name
        assert question["name"].lower().startswith(BOOK.items[item].name.lower())
        assert question["name"].endswith(f" in {place}?")
        given = question["acceptedAnswer"]["text"].split("\n")
        for text, line in zip(given, lines_of(district, day, item), strict=True):
            for on in days_of(line, day, BOOK.turning_days()):
                entry, said = asked(BOOK, item, combinations(line["when"])[0], district, on)
                body = text
                for part in (
                    line["case"],
                    *(in_words(line[k]) for k in ("from", "until") if line[k]),
                ):
                    assert part is None or part.lower() in text.lower()
                _, _, rest = text.partition(": ")
                where = lower_first(line["where"])
                if any((line["case"], line["from"], line["until"])):
                    assert rest.startswith(where), text
                    body = rest
                else:
                    assert text.startswith(line["where"]), text
                left = body[len(where) + 1 :].strip()
                sentences = [s.strip() for s in left.split(". ") if s.strip()]
                assert all(s.rstrip(".") in said for s in sentences), (text, said)
                for must in (entry["caution"], *entry["prepare"]):
                    assert not must or must in text


@pytest.mark.parametrize(("district", "day"), EACH)
def test_guide_has_each_common_thing_once_where_the_assistant_sends_it(district, day):
    made = guide.sheet(BOOK, district, day)
    placed = [(c.container.name, e) for c in made.cards for e in c.entries]
    placed += [(g.where, e) for g in (*made.never, *made.elsewhere) for e in g.entries]
    assert BOOK.guide
    now = [x for i in BOOK.guide.common for x in lines_of(district, day, i) if not x["from"]]
    assert len(placed) == len(now)
    for where, entry in placed:
        facts = {c: v[0] for c, v in entry.line.when.items()}
        told, said = asked(BOOK, entry.line.item, facts, district, day)
        phrase = BOOK.destinations[told["destination"]].phrase
        assert where in (told["container"], capital(phrase))
        assert lower_first(where) in said
    for entry in (e for g in made.never for e in g.entries):
        facts = {c: v[0] for c, v in entry.line.when.items()}
        told, _ = asked(BOOK, entry.line.item, facts, district, day)
        assert BOOK.destinations[told["destination"]].kind not in ("bin", "bag")
    for entry in made.later:
        assert entry.line.since and entry.line.since > day


@pytest.mark.parametrize(("district", "day"), EACH)
def test_tag_sends_each_thing_where_the_assistant_does(district, day):
    count = 0
    for tag in tags.tags(BOOK, district, day):
        for line in tag["lines"]:
            facts = {**{c: v[0] for c, v in line["when"].items()}, **line["facts"]}
            told, said = asked(BOOK, line["item"], facts, district, day)
            count += 1
            assert (told["destination"], told["container"]) == (
                line["destination"],
                line["container"],
            )
            assert (told["rule"], told["source"], told["caution"]) == (
                line["rule"],
                line["source"],
                line["caution"],
            )
            if told["container"] == tag["container"]:
                assert line["please"] == " ".join(told["prepare"])
            else:
                place = told["container"] or BOOK.destinations[told["destination"]].phrase
                assert place in line["please"] and place in said
    assert count > 15
