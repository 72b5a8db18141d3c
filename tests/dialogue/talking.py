"""What the tests of the dialogue ask of an answer."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any

from rules import load

BOOK = load()
DAY = "2026-12-01"
NUMBER = itertools.count()

Answer = dict[str, Any]
Talk = Callable[..., Answer]


def goes(answer: Answer) -> dict[str | None, str | None]:
    """Where each thing of an answer goes."""
    return {i["item"]: i["destination"] for i in answer["items"]}


def asked(answer: Answer) -> tuple[str, str] | None:
    """What an answer asks: the thing and the condition."""
    asks = answer["asks"]
    return (asks["item"], asks["condition"]) if asks else None
