"""Words that both forms of a reply, long and short, are made of."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

import yaml

from actions.reply import Answered
from rules import Decision
from rules.model import DISTRICT, Book

FILE = Path(__file__).parent / "wording.yml"


@cache
def wording() -> Mapping[str, Mapping[str, str]]:
    """All sentences, read once."""
    data: Mapping[str, Mapping[str, str]] = yaml.safe_load(FILE.read_text(encoding="utf-8"))
    return data


def capital(text: str) -> str:
    """Text with its first letter large."""
    return text[:1].upper() + text[1:]


def contact(book: Book) -> dict[str, str]:
    """The scheme's contact details, for any sentence."""
    scheme = book.scheme
    return {"phone": scheme.phone, "hours": scheme.hours, "web": scheme.web, "plant": scheme.plant}


def filled(book: Book, fill: Mapping[str, str]) -> dict[str, str]:
    """A wording's words with the contact details and capitals it may use."""
    out = {**contact(book), **fill}
    out.update({k.capitalize(): capital(v) for k, v in fill.items()})
    return out


def phrase(book: Book, decision: Decision, short: bool = False) -> str:
    """Where it goes, as the end of a sentence."""
    goes = book.destinations[decision.destination]
    if decision.container and goes.kind in ("bin", "bag"):
        name = decision.container
        if goes.kind == "bag":
            return name
        return name if short else f"in the {name}"
    return goes.short if short else goes.phrase


def name_of(book: Book, answered: Answered) -> str:
    """What the answer calls a thing: the rules' name, or the resident's words."""
    item = answered.decision.item if answered.decision else answered.thing.item
    if item and item in book.items:
        return book.items[item].name
    return answered.thing.said


def assumptions(book: Book, decision: Decision) -> str:
    """What was taken as given, as far as the rules word it."""
    said = []
    for c in decision.assumed:
        text = book.conditions[c].values[decision.facts[c]].assumed if c in decision.facts else None
        if text and text not in said:
            said.append(text)
    joined = " and ".join(said)
    return joined.replace(" and it is ", " and ")


def ask_text(book: Book, condition: str, item: str, form: str) -> str:
    """A question in one of its forms, about a thing."""
    if condition == DISTRICT:
        w = wording()["question"]
        text = {
            "question": w["district"],
            "again": w["district_again"],
            "short": w["district_short"],
        }[form]
        return text.format(item=item)
    asked = book.conditions[condition]
    return str(getattr(asked, form)).format(item=item)
