"""Every item, in every district, on every day on which something changes, with every combination of
conditions: a plainly worded question and its replies reach the destination the engine gives.

What is assumed is left unsaid or, where another value is tried, said with the question; what is
asked is answered by the option's label. The work is shared among the test processes.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import product
from typing import Any

import pytest

from rules import Decision, decide, load
from rules.model import Book, Item, Table

SHARES = 16
BOOK = load()


def phrase(book: Book, condition: str, value: str) -> str:
    """How a resident says a value: the first wording of the rule files but yes or no."""
    told = book.conditions[condition].values[value]
    return next(s for s in told.says if s not in ("yes", "no"))


def cases(book: Book, item: Item, table: Table) -> Iterator[tuple[dict[str, str], dict[str, str]]]:
    """What is stated with the question, and what is answered when asked.

    One assumed condition at a time is given another value: two at once are no plain question.
    """
    answers = [dict(zip(table.ask, c, strict=True)) for c in product(*table.ask.values())]
    for answer in answers:
        yield {}, answer
    for condition, usual in table.assume.items():
        for value in book.conditions[condition].values:
            if value != usual:
                yield {condition: value}, answers[0]


def share(number: int) -> list[Item]:
    return [item for k, item in enumerate(BOOK.items.values()) if k % SHARES == number]


@pytest.mark.parametrize("number", range(SHARES))
def test_reaches_what_the_engine_says(number: int, say: Any) -> None:
    wrong, done = [], 0
    for item in share(number):
        for district in BOOK.districts:
            for day in BOOK.turning_days():
                for stated, answers in cases(BOOK, item, item.table_for(district)):
                    done += 1
                    fault = one(say, item, district, day, stated, answers)
                    if fault:
                        wrong.append(fault)
    assert done > 100
    assert not wrong, f"{len(wrong)} of {done}:\n" + "\n".join(wrong[:60])


def one(
    say: Any, item: Item, district: str, day: date, stated: dict[str, str], answers: dict[str, str]
) -> str | None:
    """Hold one conversation; say what went wrong, if anything."""
    expected = decide(BOOK, district, day, item.id, {**stated, **answers})
    extra = "".join(f", {phrase(BOOK, c, v)}" for c, v in stated.items())
    message = f"where does this go: {item.name}{extra}"
    sender = f"{item.id}-{district}-{day}-{stated}-{answers}"
    meta = {"district": district, "on": day.isoformat()}
    said = [message]
    reply = say(message, sender, **meta)
    facts = dict(stated)
    for _ in range(4):
        if reply["kind"] != "question":
            break
        condition = reply["asks"]["condition"]
        values = [o["value"] for o in reply["asks"]["options"]]
        value = answers.get(condition, values[0])
        label = next((o["label"] for o in reply["asks"]["options"] if o["value"] == value), None)
        if label is None:
            return f"{said}: '{value}' is no option of '{condition}'"
        facts[condition] = value
        said.append(label)
        reply = say(label, sender, **meta)
    if not isinstance(expected, Decision):
        expected = decide(BOOK, district, day, item.id, {**facts, **answers})
    goes = expected.destination if isinstance(expected, Decision) else None
    got = [i["destination"] for i in reply["items"]]
    if got != [goes]:
        return f"{district} {day} {said}: {item.id} goes to {goes}, not {got}"
    return None
