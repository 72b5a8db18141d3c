"""From a reply to the words a person reads: long for the web, short for a text message."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from actions.phrases import (
    ask_text,
    assumptions,
    capital,
    contact,
    filled,
    name_of,
    phrase,
    wording,
)
from actions.reply import Answered, Asked, Reply, options
from actions.short import text_message
from rules import Decision
from rules.model import Book


@dataclass(frozen=True, slots=True)
class Worded:
    """What a person reads, and the answers offered as buttons."""

    text: str
    buttons: tuple[Mapping[str, str], ...] = ()


def render(book: Book, reply: Reply, short: bool = False) -> Worded:
    """The words of a reply."""
    return Worded(
        text_message(book, reply) if short else page_text(book, reply), buttons(book, reply)
    )


def buttons(book: Book, reply: Reply) -> tuple[Mapping[str, str], ...]:
    """The answers to the question of a reply, or the readings it offers."""
    labels: list[str] = []
    if reply.offers:
        labels = [*(capital(o) for o in reply.offers), wording()["something_else"]["long"]]
    elif reply.asks:
        labels = [o["label"] for o in options(book, reply.asks)]
    return tuple({"title": label, "payload": label} for label in labels)


def page_text(book: Book, reply: Reply) -> str:
    """The long form, in paragraphs."""
    lines: list[str] = []
    if reply.kind == "emergency":
        lines.append(emergency(reply))
    else:
        lines += [long_answer(book, a, reply) for a in reply.items if a.decision]
    lines += [
        wording()[key]["long"].format(**filled(book, fill)).strip() for key, fill in reply.parts
    ]
    if reply.asks:
        lines.append(question(book, reply.asks, several=len(reply.items) > 1))
    return "\n\n".join(x for x in lines if x)


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


def question(book: Book, asks: Asked, several: bool) -> str:
    """The question to put, with what it is about where more than one thing is talked of."""
    item = asks.thing.item
    name = book.items[item].name if item and item in book.items else asks.thing.said
    text = ask_text(book, asks.condition, name, "again" if asks.again else "question")
    if several and name not in text:
        return wording()["question"]["about"].format(item=name, question=text)
    return text


def emergency(reply: Reply) -> str:
    """What to do at once."""
    decision = reply.items[0].decision
    assert decision is not None
    w: Mapping[str, Any] = wording()["emergency"]
    return str(w["long"]).format(why=decision.why, prepare=" ".join(decision.prepare))
