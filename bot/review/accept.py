"""From a group to a proposed change: another name of an item, or a new item."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

import yaml

from bot.language.spelling import english
from bot.review.form import Form, form_of, slip
from bot.review.listing import Group
from rules import edit
from rules.model import Book, Item, Place, Row

QUESTIONS = 6
"""Questions of a group that are tried against the changed book."""
RULE = re.compile(r"(?P<file>[^:]+): (?P<name>.+), row (?P<row>\d+)(?:, next best)?$")
"""How an answer names the rule that decided."""


class Wrong(ValueError):
    """What is wrong with a form, by its field."""

    def __init__(self, **told: str) -> None:
        self.told = told
        super().__init__(" ".join(told.values()))


@dataclass(frozen=True, slots=True)
class NewItem:
    """A new item as it is filled in. `goes` is a stream or a destination code; `like` another
    item that decides, then `goes` is empty."""

    name: str = ""
    also: tuple[str, ...] = ()
    file: str = ""
    goes: str = ""
    like: str = ""
    why: str = ""
    prepare: tuple[str, ...] = ()
    caution: str = ""
    source: str = ""
    hazard: str = ""
    plural: bool = False


@dataclass(frozen=True, slots=True)
class Proposal:
    """A change to be proposed: what it is called, its edits, and what it is about."""

    title: str
    edits: tuple[Mapping[str, Any], ...]
    about: Mapping[str, Any] = field(default_factory=dict)


def as_name(
    book: Book, texts: Mapping[str, str], group: Group, item: str, names: Iterable[str]
) -> Proposal:
    """Names for an item. Raises `Wrong`."""
    if not item:
        raise Wrong(item="Choose the item, or type its name.")
    if item not in book.items:
        raise Wrong(item=f"There is no item '{item}'. Choose one of the list, or type its name.")
    wanted = list(dict.fromkeys(n for n in (" ".join(n.split()) for n in names) if n))
    if not wanted:
        raise Wrong(names="Type at least one name.")
    changed: dict[str, str] = {}
    for name in wanted:
        try:
            changed.update(edit.add_name({**texts, **changed}, item, name))
        except edit.EditError as error:
            raise Wrong(names=str(error)) from None
    listed = ", ".join(f"‘{n}’" for n in wanted)
    called = book.items[item].name
    title = f"{listed}: {'another name' if len(wanted) == 1 else 'other names'} of {called}"
    edits = tuple({"add_name": {"item": item, "name": name}} for name in wanted)
    return Proposal(title, edits, about(group, wanted))


def as_item(book: Book, texts: Mapping[str, str], group: Group, new: NewItem) -> Proposal:
    """A new item. Raises `Wrong` with all that is wrong with the form."""
    told = mistakes(book, texts, new)
    if told:
        raise Wrong(**told)
    id, entry = id_of(book, new.name), entry_of(book, texts, new)
    try:
        edit.add_item(texts, new.file, id, entry)
    except edit.EditError as error:
        raise Wrong(name=str(error)) from None
    made = {"add_item": {"file": f"book/{new.file}", "id": id, "entry": entry}}
    return Proposal(f"New item: {new.name}", (made,), about(group, [new.name, *new.also]))


def mistakes(book: Book, texts: Mapping[str, str], new: NewItem) -> dict[str, str]:
    """What is wrong with a form, by its field, beyond what the check of the book finds."""
    told = {}
    if not re.search("[A-Za-z]", new.name):
        told["name"] = "Type the name that the answer calls it by."
    if new.file not in texts or not new.file.startswith("items/"):
        told["file"] = "Choose the section it belongs to."
    if bool(new.goes) == bool(new.like):
        told["goes"] = "Choose where it goes, or name an item it is treated like: one of the two."
    elif new.goes and new.goes not in {*book.streams, *book.destinations}:
        told["goes"] = f"There is no stream or destination '{new.goes}'. Choose one of the list."
    elif new.like and new.like not in book.items:
        told["like"] = f"There is no item '{new.like}'. Choose one of the list, or type its name."
    if new.goes and not new.why:
        told["why"] = "Say why it goes there, as a resident understands it."
    if new.goes and not new.source:
        told["source"] = "Say what it rests on: a policy, a law, or ‘common practice, no source’."
    if new.hazard and new.hazard not in book.dangers:
        told["hazard"] = f"There is no danger '{new.hazard}'. Choose one of the list."
    elif new.hazard and binned(book, new.goes):
        told["goes"] = (
            "A dangerous thing may not go in a bin by this form. Choose another place, or write "
            "the rule in its file and say there why it is safe."
        )
    return told


def binned(book: Book, goes: str) -> bool:
    """Whether a stream or destination is emptied into a truck."""
    if goes in book.destinations:
        return book.destinations[goes].kind == "bin"
    return goes in book.streams


def entry_of(book: Book, texts: Mapping[str, str], new: NewItem) -> dict[str, Any]:
    """What stands under the new item's id."""
    entry: dict[str, Any] = {"name": new.name}
    if new.also:
        entry["also"] = list(new.also)
    if new.plural:
        entry["plural"] = True
    hazard, like = new.hazard, book.items.get(new.like)
    if like is not None:
        there = written(texts, like)
        hazard = hazard or like.hazard or ""
        if "follows" in there and "districts" not in there:
            entry["follows"] = there["follows"]
            for name in ("prepare", "why", "caution", "source"):
                if name in there:
                    entry[name] = there[name]
        else:
            entry["outcomes"] = [{"see": like.id}]
    else:
        entry["outcomes"] = [{"goes": new.goes}]
    if hazard:
        entry["hazard"] = hazard
    for name, value in (
        ("prepare", list(new.prepare)),
        ("why", new.why),
        ("caution", new.caution),
        ("source", new.source),
    ):
        if value:
            entry[name] = value
    return entry


def written(texts: Mapping[str, str], item: Item) -> Mapping[str, Any]:
    """An item as its file has it."""
    data = yaml.load(texts[item.where.file], Loader=yaml.BaseLoader)
    found: Mapping[str, Any] = data["items"][item.id]
    return found


def id_of(book: Book, name: str) -> str:
    """An id for a name that no item has."""
    plain = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_") or "item"
    plain = plain if plain[0].isalpha() else f"item_{plain}"
    found, number = plain, 2
    while found in book.items:
        found, number = f"{plain}_{number}", number + 1
    return found


def about(group: Group, names: Iterable[str]) -> dict[str, Any]:
    """What a change is about: the group, and its questions to be tried."""
    asked = {(e.question, e.district): e.conversation for e in group.entries if e.question}
    questions = [
        {"say": q, "district": d, "conversation": c}
        for (q, d), c in list(asked.items())[:QUESTIONS]
    ]
    questions += [{"say": n, "district": None} for n in names][: QUESTIONS - len(questions) + 1]
    return {"review": group.key, "questions": questions}


def suggested(group: Group, most: int = 3) -> list[str]:
    """Names to suggest: the words most used, without articles and fillers.

    What the program would read as one of them anyway (slips, plurals, words run together, a
    describing word more) is left out, and so is what was masked.
    """
    counts = Counter(
        form_of(e.said, materials=True)
        for e in group.entries
        if "unclear" not in e.whys and "[" not in e.said
    )
    found: list[Form] = []
    for form, _ in sorted(counts.items(), key=lambda c: (-c[1], len(c[0].words), c[0].words)):
        if form and form.head is not None and not any(serves(f, form) for f in found):
            found.append(form)
    return [f.text for f in found[:most]]


def serves(name: Form, form: Form) -> bool:
    """Whether a phrase would be read as a name without being one itself."""
    if "".join(name.words) == "".join(form.words):
        return True

    def read_as(word: str, other: str) -> bool:
        both = word in english() and other in english()
        return word == other or (slip(word, other) and not both)

    return all(any(read_as(word, other) for other in form.words) for word in name.words)


def item_named(book: Book, text: str) -> str:
    """The item an officer means by its id or one of its names; the text itself if there is none."""
    plain = text.strip()
    return plain if plain in book.items else book.named(plain) or plain


def sections(book: Book) -> list[tuple[str, str]]:
    """The files of items, each with the heading its items stand under, in order."""
    found = {i.where.file: i.section for i in book.items.values()}
    return sorted(((f, s) for f, s in found.items()), key=lambda p: (p[1].lower(), p[0]))


def rule_place(book: Book, rule: str | None) -> Place | None:
    """Where a rule stands today, by the words an answer names it with; `None` if it is gone."""
    told = RULE.match(rule or "")
    if told is None:
        return None
    number = int(told["row"]) - 1
    for item in book.items.values():
        for table in (item.table, *item.overrides.values()):
            if (table.where.file, table.name) == (told["file"], told["name"]):
                rows: tuple[Row, ...] = table.rows
                return rows[number].where if 0 <= number < len(rows) else item.where
    return None
