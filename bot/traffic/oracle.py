"""What the simulator knows: what each person meant, and where the rules send that."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from bot.traffic.phrases import Want
from rules import Question, decide
from rules.decide import decide_cautiously
from rules.model import DISTRICT, Book


@dataclass(slots=True)
class Meant:
    """Something a person meant, and what came of it.

    `sort` is what kind of question it was. `facts` are what was said of the thing so far, in
    whatever words. `said` are the person's messages about it, `got` the kind and destinations of
    the last answer. `verdict` is `right`, `wrong`, or `open` while the person had no answer.
    """

    sort: str
    want: Want | None = None
    facts: dict[str, str] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)
    got: str = ""
    right: str = ""
    verdict: str = "open"


KINDS = {
    "service": ("referral",),
    "information": ("information", "answer", "question"),
    "off topic": ("referral",),
    "danger": ("emergency",),
}
"""The kinds of reply that are right for what is not a question about a thing. A referral is how the
contract words "outside what the assistant knows"."""


def truth(book: Book, district: str, day: date, meant: Meant) -> str:
    """The destination the rules give for what was meant, by what was said so far."""
    want = meant.want
    assert want is not None
    if want.item is None:
        return want.careful
    facts = {c: v for c, v in meant.facts.items() if c != DISTRICT}
    found = decide(book, district, day, want.item, facts)
    if isinstance(found, Question):
        found = decide_cautiously(book, district, day, want.item, facts)
    return found.destination


def hear(meant: Meant, answer: Mapping[str, Any], book: Book, district: str, day: date) -> None:
    """Compare an answer with what was meant."""
    kind = str(answer["kind"])
    decided = [i for i in answer["items"] if i["destination"]]
    listed = ", ".join(f"{i['item']}: {i['destination']}" for i in decided)
    meant.got = f"{kind} ({listed})" if listed else kind
    if meant.want is None:
        meant.right = " or ".join(KINDS[meant.sort])
        meant.verdict = "right" if kind in KINDS[meant.sort] else "wrong"
        return
    meant.right = truth(book, district, day, meant)
    item = meant.want.item
    own = [str(i["destination"]) for i in decided if i["item"] == item]
    if kind == "question" and not own:
        meant.verdict = "open"
        return
    if not own and item is not None:  # named in words that another rule has, too
        own = [str(i["destination"]) for i in decided]
    meant.verdict = "right" if meant.right in own else "wrong"


def tally(all_meant: list[Meant]) -> dict[str, Counter[str]]:
    """How many of each sort were right, wrong or left open."""
    found: dict[str, Counter[str]] = {}
    for meant in all_meant:
        found.setdefault(meant.sort, Counter())[meant.verdict] += 1
    return found
