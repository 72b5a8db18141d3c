"""A report's values for another program: one tidy table, a number to a row."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any

FIELDS = (
    "figure",
    "measure",
    "day",
    "channel",
    "district",
    "kind",
    "item",
    "words",
    "meant",
    "destination",
    "condition",
    "outcome",
    "side",
    "value",
    "of",
    "low",
    "high",
)
"""`value` is a count, or for a share from 0 to 1 is told with `of`, how many it is a share of, and
its interval. `side` is before or after a change. What a row is not split by is empty; no district
given is `none`."""
ALWAYS = ("from", "to", "traffic")

FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""A cell that begins so may be taken for a formula by a spreadsheet (from memory: OWASP, "CSV
Injection"); an apostrophe before it makes it text."""


def safe(cell: Any) -> Any:
    """A cell no spreadsheet takes for a formula. Numbers stay numbers."""
    if isinstance(cell, str) and cell.startswith(FORMULA):
        return "'" + cell
    if isinstance(cell, float):
        return round(cell, 6)
    return cell


def written(rows: Iterable[dict[str, Any]], start: str, end: str, demo: bool) -> str:
    """The rows as CSV by RFC 4180: a header line, commas, CRLF at line ends."""
    out = io.StringIO()
    writer = csv.DictWriter(out, (*ALWAYS, *FIELDS), restval="", lineterminator="\r\n")
    writer.writeheader()
    always = {"from": start, "to": end, "traffic": "demo" if demo else "residents"}
    for row in rows:
        writer.writerow({k: safe(v) for k, v in {**always, **row}.items()})
    return out.getvalue()
