"""A conversation step by step, in words: for the page and for the terminal alike."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from actions.current import SHELF
from bot.explain.rows import Passage, passage
from bot.explain.turns import Turn, turns
from bot.processes import Failed
from bot.record import books
from bot.record.entry import Entry
from bot.remarks import Remark, Remarks
from rules import Decision, decide, unknown
from rules.decide import decide_cautiously
from rules.loader import load_texts
from rules.model import Book

REMARKS = "remarks.db"
MASK = re.compile(r"(?:\[[a-z ]+\](?:'s)?\s*)+")
"""Words of which masking left nothing."""


@dataclass(frozen=True, slots=True)
class Then:
    """The book that answered. `lack` says why it cannot be shown, if it cannot."""

    book: Book | None
    texts: Mapping[str, str]
    lack: str = ""


@dataclass(frozen=True, slots=True)
class Thing:
    """What was decided of one thing, and whether today's rules decide otherwise."""

    name: str
    asked_as: str
    goes: str
    stated: tuple[str, ...]
    assumed: tuple[str, ...]
    unsettled: tuple[str, ...]
    rule: str
    source: str
    passage: Passage | None
    now: str
    differs: bool


@dataclass(frozen=True, slots=True)
class Step:
    """One turn, in words."""

    entry: Entry
    at: datetime
    understood: tuple[tuple[str, str], ...]
    remembered: tuple[str, ...]
    answered: tuple[str, ...]
    things: tuple[Thing, ...] = ()
    book: str = ""
    lack: str = ""
    remarks: tuple[Remark, ...] = ()


def story(data: Path, conversation: str) -> list[Step]:
    """The steps of a conversation. Raises `Failed` if there is none of that name."""
    found = turns(data, conversation)
    if not found:
        raise Failed(
            f"There is no conversation '{conversation}', or it was forgotten. "
            "'lidwise explain --on DAY' lists those of a day."
        )
    kept: dict[str, Then] = {}
    remarks = said_of(data, conversation)
    return [step(data, turn, kept, remarks) for turn in found]


def said_of(data: Path, conversation: str) -> list[Remark]:
    """What people said of the answers of a conversation."""
    if not (data / REMARKS).exists():
        return []
    return [r for r in Remarks(data / REMARKS).all() if r.conversation == conversation]


def then(data: Path, version: str | None, kept: dict[str, Then]) -> Then:
    """The book that answered, read once."""
    if version is None:
        return Then(
            None,
            {},
            "Which rule book answered is not known: that was not kept then.",
        )
    if version not in kept:
        try:
            texts = books.texts_of(data, version)
            kept[version] = Then(load_texts(texts), texts)
        except Failed as failed:
            kept[version] = Then(None, {}, str(failed))
        except ValueError:
            kept[version] = Then(None, {}, f"The kept rule book {version} can no longer be read.")
    return kept[version]


def step(data: Path, turn: Turn, kept: dict[str, Then], remarks: list[Remark]) -> Step:
    """One turn in words."""
    entry = turn.entry
    had = then(data, entry.book, kept)
    book = had.book or SHELF.current()
    return Step(
        entry=entry,
        at=datetime.fromisoformat(entry.at).astimezone(),
        understood=tuple(understood(book, turn)),
        remembered=tuple(remembered(book, turn.memory)),
        answered=tuple(turn.texts),
        things=tuple(thing(had, book, entry, item) for item in entry.items),
        book=entry.book or "",
        lack=had.lack,
        remarks=tuple(r for r in remarks if r.turn is not None and r.turn == entry.turn),
    )


def condition(book: Book, name: str, value: str) -> str:
    """A condition and its value: "food origin: From a takeaway"."""
    known = book.conditions.get(name)
    label = known.values[value].label if known and value in known.values else value
    return f"{name.replace('_', ' ')}: {label}"


def name_of(book: Book, item: str | None) -> str:
    """What the rules call a thing."""
    if item is None:
        return "not in the rules"
    return book.items[item].name if item in book.items else item.replace("_", " ")


def understood(book: Book, turn: Turn) -> list[tuple[str, str]]:
    """What the message was taken to mean, as what and how. Guesses and what is part of a name are
    left out; conditions that no rule of the answer looks at stand together at the end."""
    entry = turn.entry
    told = [("purpose", f"{entry.intent.replace('_', ' ')} ({entry.confidence:.0%} sure)")]
    idle: list[str] = []
    counted: set[str] = set()
    for item in entry.items:
        counted |= {*(item.get("facts") or ()), *(item.get("unsettled") or ())}
    for e in turn.entities:
        kind, said, value = e.get("entity"), e.get("said") or "", str(e.get("value") or "")
        words = f" (“{said}”)" if said else ""
        if kind in ("item", "mark"):
            told.append(("thing", name_of(book, value) + words))
        elif kind == "unknown" and not MASK.fullmatch(said or value):
            told.append(("unknown thing", f"“{said or value}”"))
        elif kind == "fact" and e.get("role") not in counted:
            idle += [] if e.get("inside") else [condition(book, str(e.get("role")), value) + words]
        elif kind == "fact":
            told.append(("condition", condition(book, str(e.get("role")), value) + words))
        elif kind == "district":
            known = book.districts.get(value)
            told.append(("district", (known.name if known else value) + words))
        elif kind in ("day", "centre", "container", "sign"):
            told.append((kind, value.replace("_", " ") + words))
        elif kind in ("danger", "danger_of_last") and said:
            told.append(("live danger", f"“{said}”"))
    if idle:
        told.append(("made no difference", "; ".join(dict.fromkeys(idle))))
    return list(dict.fromkeys(told))


def remembered(book: Book, memory: Mapping[str, Any]) -> list[str]:
    """What the assistant kept in mind after the turn."""
    told = []
    waiting = memory.get("waiting") or []
    for n, it in enumerate(waiting):
        asks = f", asked about {str(memory.get('condition')).replace('_', ' ')}" if not n else ""
        told.append(f"waits for an answer: {spoken(book, it)}{asks}")
    told += [f"spoke of: {spoken(book, it)}" for it in memory.get("last") or []]
    told += [f"offered: {spoken(book, it)}" for it in memory.get("offered") or []]
    for key, label in (("district", "district told"), ("channel_district", "district chosen")):
        if memory.get(key):
            known = book.districts.get(memory[key])
            told.append(f"{label}: {known.name if known else memory[key]}")
    return told


def spoken(book: Book, it: Mapping[str, Any]) -> str:
    """A remembered thing with what was said of it."""
    facts = "; ".join(condition(book, k, v) for k, v in (it.get("facts") or {}).items())
    name = name_of(book, it.get("item")) if it.get("item") else f"“{it.get('said')}”"
    return f"{name} ({facts})" if facts else name


def thing(had: Then, book: Book, entry: Entry, item: Mapping[str, Any]) -> Thing:
    """One thing of an answer."""
    assumed, unsettled = item.get("assumed") or [], item.get("unsettled") or []
    facts = item.get("facts") or {}
    stated = [condition(book, c, v) for c, v in facts.items() if c not in assumed]
    now, differs = today(entry, item)
    rule = item.get("rule") or ""
    return Thing(
        name=name_of(book, item.get("item")),
        asked_as=item.get("asked_as") or "",
        goes=place(book, item.get("destination"), item.get("container")),
        stated=tuple(stated),
        assumed=tuple(condition(book, c, facts[c]) for c in assumed if c in facts),
        unsettled=tuple(c.replace("_", " ") for c in unsettled),
        rule=rule,
        source=item.get("source") or "",
        passage=passage(had.book, had.texts, rule) if had.book and rule else None,
        now=now,
        differs=differs,
    )


def place(book: Book, code: str | None, container: str | None) -> str:
    """Where something goes, in words."""
    if code is None:
        return "asked back first"
    return container or (book.destinations[code].name if code in book.destinations else code)


def today(entry: Entry, item: Mapping[str, Any]) -> tuple[str, bool]:
    """What the rules in force say today of the same thing, and whether that is another place."""
    code = item.get("destination")
    if code is None or entry.kind == "emergency":
        return "", False
    book, day = SHELF.current(), date.today()
    district = entry.district if entry.district in book.districts else None
    asked = item.get("asked") or item.get("item")
    named = asked or known_now(book, str(item.get("asked_as") or ""))
    if named is not None and named not in book.items:
        return f"Today’s rules have no item “{named}”.", True
    if named is None:
        decided: Decision = unknown(book, district, day)
        if str(item.get("rule") or "").startswith("dangers.yml"):
            return "", False
    else:
        assumed = item.get("assumed") or []
        stated = {k: v for k, v in (item.get("facts") or {}).items() if k not in assumed}
        found = decide(book, district, day, named, stated)
        if isinstance(found, Decision):
            decided = found
        else:
            decided = decide_cautiously(book, district, day, named, stated)
    where = place(book, decided.destination, decided.container)
    if decided.destination == code and decided.container == item.get("container"):
        return f"Today’s rules say the same: {where}.", False
    return f"Today’s rules say otherwise: {where} ({decided.rule}).", True


def known_now(book: Book, words: str) -> str | None:
    """The item of today's rules that has these words as a name."""
    bare = re.sub(r"^(?:an?|the|my) ", "", " ".join(words.lower().split()))
    return next((i.id for i in book.items.values() if bare in (i.name, *i.also)), None)
