"""Lines as plain data, for the CSV and JSON files and for the pages."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any

from actions.phrases import capital
from bot.publish.lines import Line, case, holds_if, lines, others, where
from rules.model import Book

SCHEMA = Path(__file__).parent / "a-to-z.schema.json"

COLUMNS = (
    ("Item", "name"),
    ("Other names", "also"),
    ("Which", "case"),
    ("Where it goes", "where"),
    ("Container", "container"),
    ("Code", "destination"),
    ("Get it ready", "prepare"),
    ("Take care", "caution"),
    ("This holds if", "holds_if"),
    ("From", "from"),
    ("Until", "until"),
    ("Other options", "others"),
    ("Why", "why"),
    ("Source", "source"),
)
"""The CSV file's headings and the fields under them."""
JOINED = {"also": "; ", "prepare": " ", "others": "; "}
FORMULA = ("=", "+", "-", "@", "\t", "\r")
"""What a cell must not begin with, or a spreadsheet may run it (OWASP, "CSV injection", from
memory)."""


def record(book: Book, line: Line, day: date) -> dict[str, Any]:
    """One line as plain data. Lists stay lists, days are ISO dates."""
    item, decision = book.items[line.item], line.decision
    return {
        "item": line.item,
        "name": capital(item.name),
        "also": list(item.also),
        "section": item.section,
        "when": {c: list(v) for c, v in line.when.items()},
        "case": case(book, line) or None,
        "where": where(book, line),
        "destination": decision.destination,
        "container": decision.container,
        "prepare": list(decision.prepare),
        "caution": decision.caution,
        "holds_if": holds_if(book, line) or None,
        "from": line.since.isoformat() if line.since else None,
        "until": line.until.isoformat() if line.until else None,
        "others": others(book, line, day),
        "why": decision.why,
        "rule": decision.rule,
        "source": decision.source,
    }


def records(book: Book, district: str, day: date) -> list[dict[str, Any]]:
    """All lines of a district."""
    return [record(book, line, day) for line in lines(book, district, day)]


def document(book: Book, district: str, day: date) -> dict[str, Any]:
    """The JSON file, as `a-to-z.schema.json` describes it."""
    scheme = book.scheme
    return {
        "$schema": SCHEMA.name,
        "publisher": scheme.name,
        "contact": {"phone": scheme.phone, "hours": scheme.hours, "web": scheme.web},
        "district": {"id": district, "name": book.districts[district].name},
        "on": day.isoformat(),
        "rules": book.version,
        "lines": records(book, district, day),
    }


def as_json(data: Any) -> bytes:
    """Data as a readable file that is the same for the same data."""
    return (json.dumps(data, ensure_ascii=False, indent=1) + "\n").encode()


def as_csv(rows: Iterable[dict[str, Any]]) -> bytes:
    """Lines as CSV (RFC 4180), in UTF-8 with the mark by which a spreadsheet knows that."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(heading for heading, _ in COLUMNS)
    for row in rows:
        writer.writerow(cell(name, row[name]) for _, name in COLUMNS)
    return out.getvalue().encode("utf-8-sig")


def cell(name: str, value: Any) -> str:
    """A field's text, with an apostrophe before what a spreadsheet might run."""
    text = JOINED[name].join(value) if name in JOINED else str(value or "")
    return f"'{text}" if text.startswith(FORMULA) else text
