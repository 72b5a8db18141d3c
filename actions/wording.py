"""From a reply to the words a person reads: long for the web, short for a text message."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from actions.reply import Answered, Asked, Reply, options
from rules import Decision
from rules.model import DISTRICT, Book

FILE = Path(__file__).parent / "wording.yml"


@dataclass(frozen=True, slots=True)
class Worded:
    """What a person reads, and the answers offered as buttons."""

    text: str
    buttons: tuple[Mapping[str, str], ...] = ()


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


def render(book: Book, reply: Reply, short: bool = False) -> Worded:
    """The words of a reply."""
    lines: list[str] = []
    if reply.kind == "emergency":
        lines.append(emergency(reply, short))
    else:
        lines += [
            short_answer(book, a) if short else long_answer(book, a, reply)
            for a in reply.items
            if a.decision
        ]
    form = "short" if short else "long"
    lines += [
        wording()[key][form].format(**filled(book, fill)).strip() for key, fill in reply.parts
    ]
    buttons: tuple[Mapping[str, str], ...] = ()
    if reply.asks:
        lines.append(question(book, reply.asks, short, several=len(reply.items) > 1))
        buttons = tuple(
            {"title": o["label"], "payload": o["label"]} for o in options(book, reply.asks)
        )
    if reply.offers:
        labels = [*(capital(o) for o in reply.offers), wording()["something_else"]["long"]]
        buttons = tuple({"title": label, "payload": label} for label in labels)
    glue = " " if short else "\n\n"
    return Worded(glue.join(x for x in lines if x), buttons)


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
        return f"{name}" if short else f"in the {name}"
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


def long_answer(book: Book, answered: Answered, reply: Reply) -> str:
    """One thing's answer for a page: where, how, why, what to beware of, what else."""
    decision = answered.decision
    assert decision is not None
    w = wording()["answer"]
    words = {
        "Item": capital(name_of(book, answered)),
        "item": name_of(book, answered),
        "phrase": phrase(book, decision),
    }
    lines = []
    if decision.unsettled:
        first = decision.unsettled[0]
        question = ask_text(book, first, name_of(book, answered), "question")
        lines.append(w["unsettled"].format(**words, question=question))
    elif decision.item is None:
        lines.append(w["unknown"].format(**words))
    else:
        lines.append(w["lead"].format(**words))
    if book.destinations[decision.destination].kind == "service":
        lines.append(w["service"].format(**contact(book)))
    if decision.caution:
        lines.append(w["caution"].format(caution=decision.caution))
    if decision.prepare and reply.focus != "ask_why":
        lines.append(w["prepare"].format(prepare=" ".join(decision.prepare)))
    if decision.why:
        lines.append(w["why"].format(why=decision.why))
    if reply.focus == "ask_what_happens" and decision.stream:
        lines.append(book.streams[decision.stream].becomes)
    if decision.alternatives:
        others = "; or ".join(alternative(book, a, decision, reply) for a in decision.alternatives)
        lines.append(w["or"].format(alternatives=others))
    assumed = assumptions(book, decision)
    if assumed:
        lines.append(w["assumed"].format(assumed=assumed))
    return " ".join(lines)


def alternative(book: Book, code: str, decision: Decision, reply: Reply) -> str:
    """Another destination in words, by its container's name where it has one."""
    if decision.district:
        container = book.container(decision.district, code, reply.on)
        if container:
            return (
                f"in the {container.name}"
                if book.destinations[code].kind == "bin"
                else container.name
            )
    return book.destinations[code].phrase


SHORT_LIMIT = 306
"""Characters of two linked text messages in the GSM 7-bit alphabet (3GPP TS 23.038: 2 x 153)."""


def short_answer(book: Book, answered: Answered) -> str:
    """One thing's answer for a text message: where, the caution, then as much as fits."""
    decision = answered.decision
    assert decision is not None
    name = capital(name_of(book, answered))
    doubt = " (careful answer)" if decision.unsettled or decision.item is None else ""
    lines = [f"{name}: {phrase(book, decision, short=True)}{doubt}."]
    assumed = assumptions(book, decision)
    optional = [*decision.prepare, decision.why]
    if book.destinations[decision.destination].kind == "service":
        optional.insert(0, wording()["answer"]["service"].format(**contact(book)))
    if decision.caution:
        lines.append(decision.caution)
    if assumed:
        optional.insert(0, f"If {assumed}.")
    if decision.alternatives:
        optional.insert(0, f"Or: {book.destinations[decision.alternatives[0]].short}.")
    for line in optional:
        if line and len(" ".join([*lines, line])) <= SHORT_LIMIT:
            lines.append(line)
    return " ".join(lines)


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


def question(book: Book, asks: Asked, short: bool, several: bool) -> str:
    """The question to put, with what it is about where more than one thing is talked of."""
    item = asks.thing.item
    name = book.items[item].name if item and item in book.items else asks.thing.said
    if short:
        form = "again" if asks.again else "short"
        text = ask_text(book, asks.condition, name, form)
        choices = ", ".join(f"{n} {o['label']}" for n, o in enumerate(options(book, asks), 1))
        asked = wording()["question"]["short"].format(question=text, options=choices)
        return f"{capital(name)}: {asked}"
    text = ask_text(book, asks.condition, name, "again" if asks.again else "question")
    if several and name not in text:
        return wording()["question"]["about"].format(item=name, question=text)
    return text


def emergency(reply: Reply, short: bool) -> str:
    """What to do at once."""
    decision = reply.items[0].decision
    assert decision is not None
    w: Mapping[str, Any] = wording()["emergency"]
    steps = [s for s in decision.prepare if not (short and s.startswith("Call 999"))]
    return str(w["short" if short else "long"]).format(why=decision.why, prepare=" ".join(steps))
