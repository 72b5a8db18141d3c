"""One turn, or one remark, that the officer should look at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

WHYS: Mapping[str, str] = {
    "unknown": "no rule knows it",
    "unclear": "not understood",
    "unsettled": "the question stayed open",
    "unanswered": "left at a question",
    "wrong": "somebody said it is wrong",
    "missing": "somebody said something is missing",
    "failed": "the program failed",
}
"""Why an entry is here, in a few words."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What was asked, what was understood, and why it is worth a look.

    `id` is "a" and the number of a row of the record, or "r" and that of a remark. `at` is UTC in
    ISO 8601. `said` are the words for the thing, or the whole message where nothing was made out.
    `item` is the rule the thing is known by, `None` for none; `condition` what stayed open. `sign`
    is the id of a hazard sign, where a description carried one. `whys` are some of `WHYS`. `note`
    is what a person wrote of the answer. `rule` and `source` are those of the answer given.
    """

    id: str
    at: str
    channel: str
    whys: tuple[str, ...]
    question: str
    said: str
    conversation: str | None = None
    turn: str | None = None
    demo: bool = False
    district: str | None = None
    on: str | None = None
    item: str | None = None
    condition: str | None = None
    destination: str | None = None
    container: str | None = None
    facts: Mapping[str, str] = field(default_factory=dict)
    sign: str | None = None
    note: str = ""
    rule: str | None = None
    source: str | None = None
    book: str | None = None
    intent: str = ""
    confidence: float = 0.0

    @property
    def day(self) -> str:
        """The day it was asked (UTC), as an ISO date."""
        return self.at[:10]
