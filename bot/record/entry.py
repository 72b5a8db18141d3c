"""A row of the record."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa

TABLE = sa.Table(
    "answers",
    sa.MetaData(),
    sa.Column("id", sa.Integer, primary_key=True),
    sa.Column("at", sa.Text, nullable=False, index=True),
    sa.Column("conversation", sa.Text, index=True),
    sa.Column("turn", sa.Text),
    sa.Column("channel", sa.Text, nullable=False),
    sa.Column("demo", sa.Boolean, nullable=False),
    sa.Column("district", sa.Text),
    sa.Column("on", sa.Text),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("question", sa.Text),
    sa.Column("intent", sa.Text, nullable=False),
    sa.Column("confidence", sa.Float, nullable=False),
    sa.Column("book", sa.Text),
    sa.Column("items", sa.Text, nullable=False),
    sa.Column("asks", sa.Text),
    sa.Column("meant", sa.Text, nullable=False),
    sa.Column("fault", sa.Text, index=True),
)
"""Stands in the conversations' own file, so that a turn and its row are saved as one."""

JSON = ("items", "asks", "meant")


@dataclass(frozen=True, slots=True)
class Entry:
    """One turn: what was asked and what was answered.

    `at` is UTC in ISO 8601, `on` the day the answer holds for, `turn` the message's id from its
    channel, `book` the version of the book that answered, `kind` the contract's. `meant` are codes
    of containers the message named. `fault` says why the turn is worth a look: a thing was
    `unknown`, a condition stayed `unsettled`, the message was `unclear`, or the program `failed`.
    What a person typed is masked. After it was forgotten, `conversation`, `turn` and `question`
    are `None` and `at` is a day.

    Each of `items` has what the contract says of a thing (item, asked_as, destination, container,
    alternatives, rule, source), with `facts` all that counted, `assumed` and `unsettled` the
    conditions taken as given or never settled, `asked` the rule id the words named.
    """

    id: int
    at: str
    conversation: str | None
    turn: str | None
    channel: str
    demo: bool
    district: str | None
    on: str | None
    kind: str
    question: str | None
    intent: str
    confidence: float
    book: str | None
    items: list[dict[str, Any]] = field(default_factory=list)
    asks: dict[str, Any] | None = None
    meant: list[str] = field(default_factory=list)
    fault: str | None = None


def to_row(entry: Mapping[str, Any]) -> dict[str, Any]:
    """A row as the table takes it."""
    return {
        name: json.dumps(value, ensure_ascii=False) if name in JSON and value is not None else value
        for name, value in entry.items()
    }


def from_row(row: Mapping[str, Any]) -> Entry:
    """An entry from the table's row."""
    return Entry(
        **{
            name: json.loads(value) if name in JSON and value is not None else value
            for name, value in row.items()
        }
    )
