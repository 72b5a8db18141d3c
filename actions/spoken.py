"""An answer as an agent reads it out: whole sentences, in the words of the written answer."""

from __future__ import annotations

from actions.phrases import assumptions, capital, contact, name_of, phrase, wording
from actions.reply import Answered
from actions.state import Thing
from rules import Decision
from rules.model import Book


def spoken(book: Book, thing: Thing, decision: Decision, cautioned: bool = True) -> str:
    """One thing's answer to read out: where it goes, the caution, what to do first.

    The words are those of `wording.phrase` and of the rule; nothing is added to them.
    Without `cautioned` the caution is left out, for a page that shows it apart.
    """
    name = name_of(book, Answered(thing, decision))
    goes = book.destinations[decision.destination]
    where = phrase(book, decision)
    if goes.kind == "bag" and decision.container:
        where = f"in a {where[:1].lower()}{where[1:]}" if not where.startswith("in ") else where
    item = book.items.get(decision.item or "")
    if goes.kind == "emergency":
        lines = [f"{capital(name)}: call 999 now.", decision.why]
    elif goes.kind == "hold":
        lines = [f"{capital(name)}: {where}."]
    else:
        verb = "go" if item and item.plural else "goes"
        lines = [f"The {name} {verb} {where}."]
    assumed = assumptions(book, decision)
    if assumed:
        lines.append(wording()["answer"]["assumed"].format(assumed=assumed))
    if decision.caution and cautioned:
        lines.append(wording()["answer"]["caution"].format(caution=decision.caution))
    lines += decision.prepare
    if goes.kind == "service" and decision.destination != "specialist":
        lines.append(wording()["answer"]["service"].format(**contact(book)))
    return " ".join(lines)
