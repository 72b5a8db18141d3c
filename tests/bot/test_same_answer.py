"""Agent, webchat and text message are told the same, for every item and combination of conditions.

In two ways. For all of them, without a network: the row of the panel's table, and the reply the
custom action makes, worded and put in the contract for the web and for a text message. For a
sample drawn with a fixed seed, through the running server's own routes: the panel's table and its
free-text question, and the REST channel as webchat and as SMS.
"""

from __future__ import annotations

import itertools
import json
import random
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest

from actions.reply import contract
from actions.state import State
from actions.turn import Turn
from actions.understanding import Named, Understanding
from actions.wording import render
from bot.panel import table
from rules import load
from tests.bot.staff import Staff, with_account

BOOK = load()
SEED, SAMPLE = 20261125, 60
SAME = ("item", "destination", "container", "caution", "rule", "source", "prepare", "why")

Case = tuple[str, str, date, dict[str, str]]


def combinations() -> Iterator[Case]:
    days = BOOK.turning_days()
    for item, district, day in itertools.product(BOOK.items, BOOK.districts, days):
        for facts in table.paths(BOOK, item, district, day, {}):
            yield item, district, day, facts


def row_of(shown: dict[str, Any], facts: dict[str, str]) -> dict[str, Any]:
    """The one row of a table that fits."""
    fit = [
        r["outcome"]
        for r in shown["rows"]
        if all(facts.get(c["condition"]) in c["values"] for c in r["when"])
    ]
    assert len(fit) == 1, (facts, len(fit))
    return dict(fit[0])


def told(row: dict[str, Any]) -> dict[str, Any]:
    """What a row says, under the names of the contract."""
    return {**row, "item": row["decided_by"]}


def differs(row: dict[str, Any], entry: dict[str, Any]) -> list[str]:
    mine = told(row)
    mine["alternatives"] = [a["destination"] for a in row["alternatives"]]
    return [f for f in (*SAME, "alternatives") if mine[f] != entry[f]]


def understood(item: str, facts: dict[str, str]) -> Understanding:
    """A message that names the item and states the facts, as the language room would find it."""
    name = BOOK.items[item].name
    thing = Named(item=item, said=name, start=0, end=len(name), facts=facts)
    nothing: Any = dict.fromkeys(
        ("unknown", "facts", "signs", "marks", "districts", "containers", "centres", "days",
         "dangers", "dangers_of_last", "declines", "topics"), ()
    )  # fmt: skip
    return Understanding(text=name, intent="ask_about", confidence=1.0, things=(thing,), **nothing)


def test_table_and_both_wordings_agree_everywhere():
    wrong, done, tables = [], 0, {}
    for item, district, day, facts in combinations():
        key = item, district, day
        if key not in tables:
            tables = {key: table.table(BOOK, item, district, day)}
        row = row_of(tables[key], facts)
        turn = Turn(BOOK, State(), understood(item, facts), district, day)
        _, reply = turn.reply()
        (entry,) = contract(BOOK, reply)["items"]
        done += 1
        fault = differs(row, entry)
        if fault and row["destination"] != "emergency":
            wrong.append((*key, facts, fault))
        # One reply is worded for both channels; the places named in it must be the row's.
        long, short = render(BOOK, reply).text, render(BOOK, reply, short=True).text
        if row["destination"] == "emergency":
            if "999" not in long or "999" not in short or entry["destination"] != "emergency":
                wrong.append((*key, facts, "999"))
        elif row["long"] != long or row["short"] != short:
            wrong.append((*key, facts, "words", row["short"], short))
    assert done > 20_000
    assert not wrong, f"{len(wrong)} of {done}: {wrong[:5]}"


@pytest.fixture(scope="module")
def agent(running, site):
    return Staff(site.address).sign_in(with_account(running.data, "same-agent"))


def to_the_end(say: Any, item: str, facts: dict[str, str]) -> dict[str, Any]:
    """Ask where an item goes, and answer each question with the label of the fact."""
    answer = say(f"where does this go: {BOOK.items[item].name}")
    for _ in range(5):
        if answer["kind"] != "question":
            break
        asks = answer["asks"]
        labels = {o["value"]: o["label"] for o in asks["options"]}
        answer = say(labels[facts[asks["condition"]]])
    return dict(answer)


def test_real_routes_agree_on_a_sample(agent, site):
    """What is assumed is left unsaid, so the sample is of combinations with the usual values."""
    usual = [
        c for c in combinations()
        if all(c[3].get(k, v) == v for k, v in table.usual(BOOK, c[0], c[1]).items())
    ]  # fmt: skip
    sample = random.Random(SEED).sample(usual, SAMPLE)
    wrong = []
    for number, (item, district, day, facts) in enumerate(sample):
        on = day.isoformat()
        shown = agent.get(f"/panel/api/item/{item}?district={district}&on={on}")
        row = row_of(shown["groups"][0]["table"], facts)
        caller = f"panel-5a3e{number:020x}"

        def panel(
            message: str, caller: str = caller, district: str = district, on: str = on
        ) -> Any:
            body = {"caller": caller, "message": message, "district": district, "on": on}
            messages = agent.post("/panel/api/ask", body)
            return next(m["custom"] for m in messages if "custom" in m)

        def channel(
            message: str, name: str, number: int = number, district: str = district, on: str = on
        ) -> Any:
            sender = f"same-{name}-{number}"
            return site.answer(message, sender, district=district, on=on, channel=name)

        answers = {
            "panel": to_the_end(panel, item, facts),
            "webchat": to_the_end(lambda m, c=channel: c(m, "webchat"), item, facts),
            "sms": to_the_end(lambda m, c=channel: c(m, "sms"), item, facts),
        }
        plain = {k: json.dumps(v, sort_keys=True) for k, v in answers.items()}
        if len(set(plain.values())) != 1:
            wrong.append((item, district, on, facts, answers))
            continue
        items = answers["webchat"]["items"]
        # A question is put only while it can change the place, so what is told of the rest may
        # be another row's; the place is the same.
        if [i["destination"] for i in items] != [row["destination"]]:
            wrong.append((item, district, on, facts, row["destination"], items))
        elif row["destination"] != "emergency" and items[0]["container"] != row["container"]:
            wrong.append((item, district, on, facts, row["container"], items))
    assert not wrong, f"{len(wrong)} of {SAMPLE}: {wrong[:3]}"
