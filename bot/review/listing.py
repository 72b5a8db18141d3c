"""The review list: groups of entries with what was decided of each, filtered and in order."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta, timezone

from bot.language.words import language
from bot.review.entry import Entry
from bot.review.form import Form, form_of
from bot.review.group import Groups
from bot.review.known import Known
from bot.review.store import Decision, Store
from rules.model import DISTRICT, Book

LATER = timedelta(days=14)
"""How long a group put off stays away."""
MORE = 5
"""Questions by which a group that was dismissed or put off must grow, and it must have doubled,
before it comes back."""
STATES: Mapping[str, str] = {
    "open": "To decide",
    "waiting": "Change proposed",
    "later": "Put off",
    "dismissed": "No rule needed",
    "mended": "Mended",
}
SETTLING = timedelta(minutes=1)
"""How long after a book came into force an answer may still be by the one before."""
FORMS = 40
"""Forms of a group that are kept with a decision."""
ORDERS: Mapping[str, str] = {
    "asked": "Most asked first",
    "hazards": "Hazards first",
    "latest": "Latest first",
}

ChangeState = Callable[[str], str | None]
"""The state of a proposed change by its id, `None` if it is gone."""


@dataclass(frozen=True, slots=True)
class Group:
    """The same thing, asked in different words.

    `kind` is `words` (no rule knows it), `item` (a known thing whose answer was wrong or missing to
    somebody) or `question` (a condition of an item that stayed open). `forms` are the words as they
    are compared. `sign` is a hazard sign people named, `hazard` its kind of danger in words, or
    that of the item. `mended` are the entries whose words are known by now, as which items.
    """

    key: str
    kind: str
    title: str
    entries: tuple[Entry, ...]
    forms: tuple[Form, ...] = ()
    item: str | None = None
    condition: str | None = None
    state: str = "open"
    decision: Decision | None = None
    note: str = ""
    sign: str | None = None
    hazard: str | None = None
    mended: Mapping[str, str] = field(default_factory=dict)

    @property
    def asked(self) -> int:
        """How often it was asked."""
        return len(self.entries)

    @property
    def whys(self) -> list[tuple[str, int]]:
        """Why it is here, each with how often, most often first."""
        return Counter(w for e in self.entries for w in e.whys).most_common()

    @property
    def first(self) -> str:
        """The day it was first asked."""
        return self.entries[0].day

    @property
    def last(self) -> str:
        """The day it was last asked."""
        return max(e.day for e in self.entries)

    @property
    def demo(self) -> bool:
        """Whether all of it is demo traffic."""
        return all(e.demo for e in self.entries)

    def counts(self, name: str) -> list[tuple[str, int]]:
        """How often by `district`, `channel` or another field of the entries."""
        return Counter(str(getattr(e, name) or "") for e in self.entries).most_common()

    def words(self) -> list[tuple[str, int]]:
        """The words used, most used first."""
        return Counter(e.said.strip() for e in self.entries).most_common()


@dataclass(frozen=True, slots=True)
class Filter:
    """Which entries and groups are wanted; `None` is any. `end` is included."""

    why: str | None = None
    channel: str | None = None
    district: str | None = None
    start: date | None = None
    end: date | None = None
    state: str | None = "open"
    order: str = "asked"

    def fits(self, entry: Entry) -> bool:
        """Whether an entry is wanted."""
        return (
            (self.why is None or self.why in entry.whys)
            and (self.channel is None or entry.channel == self.channel)
            and (self.district is None or (entry.district or "none") == self.district)
            and (self.start is None or entry.day >= self.start.isoformat())
            and (self.end is None or entry.day <= self.end.isoformat())
        )


def grouped(
    entries: Iterable[Entry],
    store: Store,
    known: Known,
    change_state: ChangeState,
    now: datetime | None = None,
    since: datetime | None = None,
) -> list[Group]:
    """All groups, in the order they were first asked. Keeps new keys in the store.

    `since` is when the book in force came into force, if that is known.
    """
    now = now or datetime.now(timezone.utc)
    decisions = store.latest()
    keys = Groups(store.keys(), {k: d.forms for k, d in decisions.items()})
    found: dict[str, list[tuple[Entry, Form]]] = {}
    for entry in entries:
        form = form_of(entry.said)
        found.setdefault(key_of(entry, form, keys), []).append((entry, form))
    store.keep(keys.fresh)
    return [
        judged(made(key, pairs, known), decisions.get(key), known, change_state, now, since)
        for key, pairs in found.items()
    ]


def key_of(entry: Entry, form: Form, keys: Groups) -> str:
    """The group an entry belongs to."""
    if entry.condition is not None:
        return f"question-{entry.item or 'any'}-{entry.condition}"
    if entry.item is not None:
        return f"item-{entry.item}"
    return keys.key(form)


def made(key: str, pairs: list[tuple[Entry, Form]], known: Known) -> Group:
    """A group of entries, undecided."""
    book = known.book
    entries = tuple(e for e, _ in pairs)
    forms = tuple(dict.fromkeys(f for _, f in pairs))[:FORMS]
    kind = key.split("-", 1)[0]
    item, condition = entries[0].item, entries[0].condition
    sign = hazard = None
    if kind == "words":
        sign = next((e.sign for e in entries if e.sign), None) or next(
            (s for e in entries for s in (known.sign(e.said), known.sign(e.question)) if s), None
        )
        hazard = sign
    elif item in book.items and book.items[str(item)].hazard:
        hazard = book.dangers[str(book.items[str(item)].hazard)].name
    return Group(
        key,
        kind,
        title(book, kind, entries),
        entries,
        forms,
        item,
        condition,
        sign=sign,
        hazard=hazard,
    )


def title(book: Book, kind: str, entries: tuple[Entry, ...]) -> str:
    """What a group is called: the words most used, or the rule's name."""
    item, condition = entries[0].item, entries[0].condition
    if kind == "words":
        return Counter(map(called, entries)).most_common(1)[0][0]
    name = book.items[item].name if item in book.items else str(item or "a thing")
    if kind == "item":
        return name
    if condition == DISTRICT:
        return f"{name}: in which district?"
    asked = book.conditions.get(str(condition))
    return f"{name}: {asked.question if asked else condition}".replace("{item}", name)


def called(entry: Entry) -> str:
    """What an entry calls a thing, without its small words; a message nobody understood in full."""
    form = form_of(entry.said, materials=True)
    if form.head is None or {"unclear", "failed"} & {*entry.whys}:
        return bare(entry.said)
    return form.text


def bare(said: str) -> str:
    """The words for a thing in small letters, without articles before and signs behind."""
    words = re.sub(r"\s+", " ", said.strip().lower()).rstrip(" ?!.,;").split(" ")
    lang = language()
    while len(words) > 1 and words[0] in lang.articles | lang.determiners:
        words.pop(0)
    return " ".join(words) or said.strip() or "nothing typed"


def judged(
    group: Group,
    decision: Decision | None,
    known: Known,
    change_state: ChangeState,
    now: datetime,
    since: datetime | None,
) -> Group:
    """A group with its state, by what was decided and what the book knows by now.

    A group that is open has only the entries that are not mended.
    """
    change = change_state(decision.change) if decision and decision.change else None
    applied = decision is not None and decision.state == "accepted" and change == "applied"
    mended = {}
    if group.kind == "words":
        for e in group.entries:
            item = mended_as(e, known, decision.at if decision and applied else "", since)
            if item:
                mended[e.id] = item
    state, note = state_of(group, decision, change, now)
    if len(mended) == group.asked:
        state, note = "mended", "The rules know these words by now."
    elif state == "open" and mended:
        left = tuple(e for e in group.entries if e.id not in mended)
        group, mended = replace(group, entries=left), {}
        note = note or "Some of its words are known by now, and are not counted here."
    return replace(group, decision=decision, state=state, note=note, mended=mended)


def mended_as(e: Entry, known: Known, accepted: str, since: datetime | None) -> str | None:
    """The item that an entry's words name by now, if that puts it right.

    It does not where the book of today is the one that failed, but for the moment in which it came
    into force, when the program's parts change over one after the other. A message that was not
    understood may have failed for other reasons: it counts only if it came before its group was
    `accepted`.
    """
    settled = since is None or datetime.fromisoformat(e.at) > since + SETTLING
    if (e.book == known.book.version and settled) or "failed" in e.whys:
        return None
    if "unclear" in e.whys and e.at > accepted:
        return None
    return known.item(e.said)


def state_of(
    group: Group, decision: Decision | None, change: str | None, now: datetime
) -> tuple[str, str]:
    """The state a decision leaves a group in, and why it came back, if it did."""
    if decision is None or decision.state == "reopened":
        return "open", ""
    if decision.state == "accepted":
        if change == "proposed":
            return "waiting", ""
        return "open", "" if change == "applied" else "The change proposed for it was dropped."
    grown = group.asked - decision.asked
    if grown >= max(MORE, decision.asked):
        said = "dismissed" if decision.state == "dismissed" else "put off"
        return "open", f"Back, since it was asked {grown} times more after it was {said}."
    if decision.state == "later" and now - datetime.fromisoformat(decision.at) >= LATER:
        return "open", f"Back, since it was put off {LATER.days} days ago."
    return decision.state, ""


def wanted(groups: Iterable[Group], wish: Filter) -> list[Group]:
    """The groups a filter leaves, with only the entries it leaves, in its order."""
    found = []
    for group in groups:
        if wish.state is not None and group.state != wish.state:
            continue
        left = tuple(e for e in group.entries if wish.fits(e))
        if left:
            found.append(replace(group, entries=left))
    found.sort(key=lambda g: g.key)
    found.sort(key=lambda g: g.last, reverse=True)
    if wish.order != "latest":
        found.sort(key=lambda g: g.asked, reverse=True)
    if wish.order == "hazards":
        found.sort(key=lambda g: g.hazard is None)
    return found
