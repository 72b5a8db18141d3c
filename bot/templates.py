"""Regular training examples, made from templates and the rule book's words."""

from __future__ import annotations

import random
import re
from pathlib import Path

import yaml

from bot import paths
from rules.model import Book

SEED = 7
DAYS = ["april 2027", "31 march 2027", "next february", "1 february", "the spring", "2027-02-10"]
SLOT = re.compile(r"\{(item|state|district|day)\}")


def fillings(book: Book) -> dict[str, list[str]]:
    """The words each slot may be filled with."""
    return {
        "item": [n for i in book.items.values() for n in (i.name, *i.also[:4])],
        "state": [
            s
            for c in book.conditions.values()
            for v in c.values.values()
            for s in v.says
            if s not in ("yes", "no")
        ],
        "district": [d.name for d in book.districts.values()],
        "day": DAYS,
    }


def expanded(book: Book) -> dict[str, list[str]]:
    """Examples per intent, the same for the same book."""
    data = yaml.safe_load((paths.TRAINING / "templates.yml").read_text(encoding="utf-8"))
    words = fillings(book)
    chance = random.Random(SEED)
    out: dict[str, list[str]] = {}
    for intent, templates in data["templates"].items():
        made = {
            SLOT.sub(lambda m: chance.choice(words[m.group(1)]), template)
            for template in templates
            for _ in range(data["times"])
        }
        out[intent] = sorted(made)
    out["state_condition"] = sorted({*out.get("state_condition", ()), *replies(book)})
    return out


def replies(book: Book) -> list[str]:
    """Every third of the replies that the rule book has for its questions."""
    every = [r for c in book.conditions.values() for v in c.values.values() for r in v.replies]
    return every[::3]


def write(book: Book, path: Path) -> Path:
    """Write the examples as training data of the framework."""
    nlu = [
        {"intent": intent, "examples": "".join(f"- {e}\n" for e in examples)}
        for intent, examples in expanded(book).items()
    ]
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(
        yaml.safe_dump({"version": "3.1", "nlu": nlu}, allow_unicode=True), encoding="utf-8"
    )
    return path
