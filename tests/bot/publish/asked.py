"""What the assistant answers, asked in this process as a message would be that states all."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache
from itertools import product
from typing import Any

from actions.reply import contract
from actions.state import State
from actions.turn import Turn
from actions.wording import render
from rules import Book
from tests.bot.test_same_answer import understood


def asked(
    book: Book, item: str, facts: Mapping[str, str], district: str, day: date
) -> tuple[dict[str, Any], str]:
    """The machine-readable answer about an item, and the words a person reads on a page."""
    turn = Turn(book, State(), understood(item, dict(facts)), district, day)
    _, reply = turn.reply()
    told = contract(book, reply)
    (entry,) = told["items"]
    assert told["asks"] is None, (item, facts, told["asks"])
    return entry, render(book, reply).text


def combinations(when: Mapping[str, list[str]]) -> list[dict[str, str]]:
    """Every way of stating what a published line stands for."""
    return [dict(zip(when, values, strict=True)) for values in product(*when.values())]


def days_of(line: Mapping[str, Any], published: date, turns: tuple[date, ...]) -> list[date]:
    """The first and the last day a published line stands, and each day of change between."""
    first = date.fromisoformat(line["from"]) if line["from"] else published
    last = date.fromisoformat(line["until"]) if line["until"] else date(2028, 2, 29)
    return sorted({first, last, *(t for t in turns if first <= t <= last)})


@cache
def rules_in_force() -> Book:
    """The project's own rules."""
    from rules import load

    return load()
