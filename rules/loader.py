"""From a folder of rule files to a `Book`, or to the list of everything wrong with them."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path as FilePath
from types import MappingProxyType
from typing import Any

import jsonschema

from rules import model as m
from rules import references
from rules.shapes import explain
from rules.yamlfile import Document, Mistake, parse

BOOK = FilePath(__file__).parent / "book"
SCHEMA = FilePath(__file__).parent / "book.schema.json"

SECTIONS = [
    "destinations",
    "streams",
    "districts",
    "conditions",
    "tables",
    "items",
    "dangers",
    "signs",
    "centres",
    "topics",
    "changes",
]


SINGLE = ["scheme", "fallback", "guide"]
"""Sections of which there is one in all."""


class BookError(ValueError):
    """Rule files that cannot be used. `mistakes` lists all of them, in file and line order."""

    def __init__(self, mistakes: list[Mistake]) -> None:
        self.mistakes = sorted(mistakes, key=lambda x: (x.file, x.line, x.what))
        super().__init__("\n".join(str(x) for x in self.mistakes))


@cache
def validator() -> jsonschema.Draft7Validator:
    """The checker of the files' shape, from the schema that ships with them."""
    return jsonschema.Draft7Validator(json.loads(SCHEMA.read_text(encoding="utf-8")))


def read_files(folder: FilePath) -> dict[str, str]:
    """The text of every rule file under a folder, by its path from there; not of hidden files,
    such as an editor leaves beside one that is open.

    Raises `BookError` if there is none, or one is not UTF-8.
    """
    texts: dict[str, str] = {}
    mistakes = []
    for path in sorted(folder.rglob("*.yml")) + sorted(folder.rglob("*.yaml")):
        name = path.relative_to(folder).as_posix()
        if path.name.startswith("."):
            continue
        try:
            texts[name] = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            mistakes.append(Mistake(name, 1, "not saved as UTF-8", "Save it again as UTF-8"))
        except OSError as error:
            mistakes.append(
                Mistake(name, 1, f"cannot be read: {error.strerror}", "Check its rights")
            )
    if not texts and not mistakes:
        mistakes.append(Mistake(str(folder), 1, "no rule file here", "Name a folder of .yml files"))
    if mistakes:
        raise BookError(mistakes)
    return texts


def load(folder: FilePath = BOOK) -> m.Book:
    """Read the rule book in a folder.

    Raises `BookError`, naming every mistake with its file, its line and a cure.
    """
    return load_texts(read_files(folder))


def load_texts(texts: Mapping[str, str]) -> m.Book:
    """Read a rule book from file texts by path. Raises `BookError` as `load` does."""
    mistakes: list[Mistake] = []
    documents: list[Document] = []
    for name, text in texts.items():
        document, wrong = parse(name, text)
        wrong += [] if wrong else shape_mistakes(document)
        wrong += [] if wrong else review_mistakes(document)
        mistakes += wrong
        documents.append(document)
    if mistakes:
        raise BookError(mistakes)
    sections, found = merge(documents)
    mistakes += found + references.mistakes(sections)
    if mistakes:
        raise BookError(mistakes)
    digest = hashlib.sha256()
    for name in sorted(texts):
        digest.update(f"{name}\0{texts[name]}\0".encode())
    return Builder(sections, documents, digest.hexdigest()[:12]).book()


def review_mistakes(document: Document) -> list[Mistake]:
    """A review date that is no day."""
    reviewed = document.data["reviewed"]
    try:
        date.fromisoformat(reviewed)
    except ValueError:
        line = document.line(("reviewed",))
        cure = f"Check the date. {references.ONE_DAY}"
        return [Mistake(document.file, line, f"there is no day {reviewed}", cure)]
    return []


def shape_mistakes(document: Document) -> list[Mistake]:
    """Where a file does not have the shape the schema describes."""
    found = []
    for error in validator().iter_errors(document.data):
        found += explain(document, error)
    return found


def merge(documents: list[Document]) -> tuple[references.Sections, list[Mistake]]:
    """Gather each section's entries from all files, with the place of each."""
    sections: references.Sections = {name: {} for name in (*SECTIONS, *SINGLE)}
    mistakes = []
    for document in documents:
        for section in SECTIONS:
            for key, data in (document.data.get(section) or {}).items():
                entry = references.Entry(document, (section, key), data)
                if key in sections[section]:
                    first = sections[section][key].place()
                    mistakes.append(
                        entry.mistake(f"'{key}' is already in {first}", "Give one another id")
                    )
                    continue
                sections[section][key] = entry
        for section in SINGLE:
            if section in document.data:
                entry = references.Entry(document, (section,), document.data[section])
                if "" in sections[section]:
                    first = sections[section][""].place()
                    mistakes.append(
                        entry.mistake(f"a second {section} (first in {first})", "Keep one")
                    )
                    continue
                sections[section][""] = entry
    return sections, mistakes


def day(text: str | None) -> date | None:
    """A date as the files write it; `always` and nothing are open."""
    return None if text in (None, "always") else date.fromisoformat(str(text))


def frozen(data: Mapping[str, Any] | None) -> Mapping[str, Any]:
    """A read-only copy."""
    return MappingProxyType(dict(data or {}))


def texts(data: Any) -> tuple[str, ...]:
    """A list of texts as a tuple."""
    return tuple(str(x) for x in data or ())


class Builder:
    """Makes the typed objects from sections already found to be right."""

    def __init__(self, sections: references.Sections, documents: list[Document], version: str):
        self.sections = sections
        self.documents = documents
        self.version = version

    def book(self) -> m.Book:
        """The whole book."""
        flat = [d for d in self.documents]
        return m.Book(
            version=self.version,
            scheme=self.scheme(),
            destinations=self.each("destinations", self.destination),
            streams=self.each("streams", self.stream),
            districts=self.each("districts", self.district),
            conditions=self.each("conditions", self.condition),
            tables=self.each("tables", lambda key, entry: self.table(key, entry, entry.data)),
            items=self.each("items", self.item),
            dangers=self.each("dangers", self.danger),
            live_signs=tuple(x for d in flat for x in texts(d.data.get("live_signs"))),
            not_live=tuple(x for d in flat for x in texts(d.data.get("not_live"))),
            signs=self.each("signs", self.sign),
            fallback=self.fallback(),
            centres=self.each("centres", self.centre),
            topics=self.each("topics", self.topic),
            changes=self.each("changes", self.change),
            files=tuple(self.source_file(d) for d in self.documents),
            guide=self.guide(),
        )

    def source_file(self, document: Document) -> m.SourceFile:
        data = document.data
        reviewed = date.fromisoformat(data["reviewed"])
        where = m.Place(document.file, document.line(("reviewed",)))
        return m.SourceFile(document.file, data["about"], data["owner"], reviewed, where)

    def each(self, section: str, make: Any) -> Mapping[str, Any]:
        return MappingProxyType({k: make(k, e) for k, e in self.sections[section].items()})

    def scheme(self) -> m.Scheme:
        entry = self.sections["scheme"][""]
        data = {**entry.data, "starts": day(entry.data["starts"])}
        return m.Scheme(**data, where=entry.place())

    def fallback(self) -> m.Fallback:
        entry = self.sections["fallback"][""]
        data = {**entry.data, "prepare": texts(entry.data["prepare"])}
        return m.Fallback(**data, where=entry.place())

    def guide(self) -> m.Guide | None:
        if "" not in self.sections["guide"]:
            return None
        entry = self.sections["guide"][""]
        tags = {
            stream: tuple(
                self.misplaced(one, entry.place("tags", stream, i)) for i, one in enumerate(listed)
            )
            for stream, listed in entry.data["tags"].items()
        }
        return m.Guide(texts(entry.data["common"]), frozen(tags), entry.place())

    def misplaced(self, data: Any, where: m.Place) -> m.Misplaced:
        if isinstance(data, str):
            return m.Misplaced(data, frozen(None), where)
        return m.Misplaced(data["item"], frozen(data["when"]), where)

    def destination(self, key: str, entry: references.Entry) -> m.Destination:
        data = {**entry.data, "wont_do": texts(entry.data.get("wont_do"))}
        return m.Destination(code=key, **data, where=entry.place())

    def stream(self, key: str, entry: references.Entry) -> m.Stream:
        data = {**entry.data, "also": texts(entry.data.get("also"))}
        return m.Stream(id=key, **data, where=entry.place())

    def district(self, key: str, entry: references.Entry) -> m.District:
        containers = tuple(
            self.one_container(c, entry.place("containers", i))
            for i, c in enumerate(entry.data["containers"])
        )
        also = texts(entry.data.get("also"))
        return m.District(key, entry.data["name"], also, containers, entry.place())

    def one_container(self, data: Mapping[str, Any], where: m.Place) -> m.Container:
        takes = tuple(
            (t, m.Period())
            if isinstance(t, str)
            else (t["stream"], m.Period(day(t.get("from")), day(t.get("until"))))
            for t in data["takes"]
        )
        period = m.Period(day(data.get("from")), day(data.get("until")))
        also = texts(data.get("also"))
        return m.Container(data["code"], data["called"], also, period, takes, where)

    def condition(self, key: str, entry: references.Entry) -> m.Condition:
        data = entry.data
        values = {
            k: m.Value(
                k,
                v["label"],
                texts(v["says"]),
                v.get("assumed"),
                v.get("denied"),
                texts(v.get("replies")),
            )
            for k, v in data["values"].items()
        }
        return m.Condition(
            key, data["question"], data["again"], data["short"], frozen(values), entry.place()
        )

    def table(self, name: str, entry: references.Entry, data: Mapping[str, Any]) -> m.Table:
        ask = data.get("ask") or {}
        conditions = self.sections["conditions"]
        if isinstance(ask, list):
            ask = {c: tuple(conditions[c].data["values"]) for c in ask}
        return m.Table(
            ask=frozen({c: tuple(v) for c, v in ask.items()}),
            assume=frozen(data.get("assume")),
            rows=tuple(
                self.row(row, entry.place_of(data, "outcomes", i))
                for i, row in enumerate(data["outcomes"])
            ),
            where=entry.place(),
            name=name,
            because=data.get("because"),
            hazard=data.get("hazard"),
            cautious=frozen(data.get("cautious")),
            **self.row_texts(data),
        )

    def row_texts(self, data: Mapping[str, Any]) -> dict[str, Any]:
        prepare = texts(data["prepare"]) if "prepare" in data else None
        return {"prepare": prepare, **{k: data.get(k) for k in ("why", "caution", "source")}}

    def row(self, data: Mapping[str, Any], where: m.Place) -> m.Row:
        when = {
            c: frozenset([v] if isinstance(v, str) else v)
            for c, v in (data.get("when") or {}).items()
        }
        return m.Row(
            when=frozen(when),
            period=m.Period(day(data.get("from")), day(data.get("until"))),
            goes=data.get("goes"),
            see=data.get("see"),
            alternatives=texts(data.get("or")),
            safe_because=data.get("safe_because"),
            where=where,
            **self.row_texts(data),
        )

    def item(self, key: str, entry: references.Entry) -> m.Item:
        data = entry.data
        if "follows" in data:
            source = self.sections["tables"][data["follows"]]
            table = self.table(data["follows"], source, {**source.data, **self.own(data)})
        else:
            table = self.table(key, entry, data)
        overrides = {}
        for district, other in (data.get("districts") or {}).items():
            hazard = other.get("hazard", table.hazard)
            changed = {**self.own(data), **other, "hazard": hazard}
            overrides[district] = self.table(f"{key} ({district})", entry, changed)
        mark = data.get("mark")
        return m.Item(
            id=key,
            name=data["name"],
            also=texts(data.get("also")),
            table=table,
            overrides=frozen(overrides),
            hazard=table.hazard,
            plural=bool(data.get("plural")),
            mark=self.mark(mark) if mark else None,
            section=entry.document.data.get("section", ""),
            where=entry.place(),
        )

    def own(self, data: Mapping[str, Any]) -> dict[str, Any]:
        """What an item says itself and so overrides in the table it follows."""
        names = ("prepare", "why", "caution", "source", "hazard", "cautious")
        return {k: data[k] for k in names if k in data}

    def mark(self, data: Mapping[str, Any]) -> m.Mark:
        return m.Mark(
            texts(data["numbers"]),
            texts(data["letters"]),
            frozen(data.get("gives")),
            bool(data.get("overrides")),
        )

    def danger(self, key: str, entry: references.Entry) -> m.Danger:
        data = entry.data
        return m.Danger(
            id=key,
            name=data["name"],
            never=data["never"],
            live=texts(data["live"]),
            emergency=data["emergency"],
            prepare=texts(data["prepare"]),
            source=data["source"],
            where=entry.place(),
            any_hazard=bool(data.get("any_hazard")),
        )

    def sign(self, key: str, entry: references.Entry) -> m.Sign:
        data = {**entry.data, "says": texts(entry.data["says"])}
        return m.Sign(id=key, **data, where=entry.place())

    def centre(self, key: str, entry: references.Entry) -> m.Centre:
        data = entry.data
        return m.Centre(
            id=key,
            name=data["name"],
            district=data["district"],
            address=data["address"],
            hours=texts(data["hours"]),
            takes=texts(data["takes"]),
            note=data.get("note"),
            where=entry.place(),
        )

    def topic(self, key: str, entry: references.Entry) -> m.Topic:
        data = {"referral": False, **entry.data, "says": texts(entry.data["says"])}
        return m.Topic(id=key, **data, where=entry.place())

    def change(self, key: str, entry: references.Entry) -> m.Change:
        data = {**entry.data, "on": day(entry.data["on"])}
        data["districts"] = texts(data["districts"])
        return m.Change(id=key, **data, where=entry.place())
