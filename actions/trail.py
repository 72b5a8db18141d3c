"""What led to a reply, for the record: the book, and all that counted for each thing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from actions.reply import Answered, Reply
from actions.understanding import Understanding
from rules.model import DISTRICT, Book


def trail(book: Book, reply: Reply, u: Understanding) -> dict[str, Any]:
    """The trail of a reply. `items` are in the order of the contract's.

    `meant` are the codes of the containers the message names, as the district calls them if the
    district is known and has them, else as any district does.
    """
    return {
        "book": book.version,
        "items": [led(answered) for answered in reply.items],
        "meant": meant(u, reply.district),
    }


def led(answered: Answered) -> dict[str, Any]:
    """What counted for one thing: `facts` with those taken as given, which `assumed` names."""
    thing, decision = answered.thing, answered.decision
    counted: Mapping[str, str] = decision.facts if decision else thing.facts
    return {
        "asked": thing.item,
        "facts": {c: v for c, v in counted.items() if c != DISTRICT},
        "assumed": list(decision.assumed) if decision else [],
        "unsettled": list(decision.unsettled) if decision else [],
    }


def meant(u: Understanding, district: str | None) -> list[str]:
    """Codes of the containers named."""
    here = [code for code, there in u.containers if there == district]
    return list(dict.fromkeys(here or [code for code, _ in u.containers]))
