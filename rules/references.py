"""Whether the names used in the rule files point at something that exists."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from rules.model import Place
from rules.shapes import nearest
from rules.yamlfile import Document, Mistake, Path


@dataclass(frozen=True, slots=True)
class Entry:
    """One named entry of a file."""

    document: Document
    path: Path
    data: Any

    def place(self, *more: str | int) -> Place:
        """Where it, or something in it, stands."""
        return Place(self.document.file, self.document.line((*self.path, *more)))

    def place_of(self, data: Any, *more: str | int) -> Place:
        """The place of a part of `data`, which is this entry's or one of its districts'."""
        for district, other in (self.data.get("districts") or {}).items():
            if other.get("outcomes") is data.get("outcomes"):
                return self.place("districts", district, *more)
        return self.place(*more)

    def mistake(self, what: str, cure: str, *more: str | int) -> Mistake:
        """A mistake at this entry, or at something in it."""
        return Mistake(self.document.file, self.document.line((*self.path, *more)), what, cure)


ONE_DAY = "Write a date as year-month-day, 2027-03-31"

Sections = dict[str, dict[str, Entry]]


def mistakes(sections: Sections) -> list[Mistake]:
    """Every name that points nowhere and every date that is none."""
    found: list[Mistake] = []
    for section in ("scheme", "fallback"):
        if not sections[section]:
            cure = f"Add a '{section}:' block to one file"
            found.append(Mistake("the rule files", 1, f"there is no {section}", cure))
    for section in ("destinations", "streams", "districts", "conditions", "items"):
        if not sections[section]:
            cure = f"Add a file with '{section}:'"
            found.append(Mistake("the rule files", 1, f"there are no {section}", cure))
    if sections["dangers"] and "general" not in sections["dangers"]:
        cure = "Add it: it is what a danger nobody named is answered from"
        found.append(Mistake("the rule files", 1, "there is no danger 'general'", cure))
    found += circles(sections)
    checker = Checker(sections)
    for section, entries in sections.items():
        for entry in entries.values():
            found += dates(entry, entry.data, ())
            check = getattr(checker, section, None)
            if check:
                found += check(entry)
    return found


def dates(entry: Entry, data: Any, path: Path) -> Iterator[Mistake]:
    """Dates that are not in the calendar, and periods that end before they start."""
    if isinstance(data, list):
        for i, part in enumerate(data):
            yield from dates(entry, part, (*path, i))
    if not isinstance(data, dict):
        return
    known = {}
    for key, value in data.items():
        yield from dates(entry, value, (*path, key))
        if key in ("on", "starts") and value == "always":
            yield entry.mistake(f"'{key}' is always", ONE_DAY, *path, key)
        if (
            key in ("from", "until", "on", "starts")
            and isinstance(value, str)
            and value != "always"
        ):
            try:
                known[key] = date.fromisoformat(value)
            except ValueError:
                yield entry.mistake(f"there is no day {value}", "Check the date", *path, key)
    if "from" in known and "until" in known and known["until"] < known["from"]:
        yield entry.mistake("it ends before it starts", "Swap 'from' and 'until'", *path, "until")


def circles(sections: Sections) -> Iterator[Mistake]:
    """Items whose rows point on and on and come back."""
    points = {}
    for key, entry in sections["items"].items():
        table = sections["tables"].get(entry.data.get("follows", ""))
        outcomes = [*(entry.data.get("outcomes") or []), *(table.data["outcomes"] if table else [])]
        for other in (entry.data.get("districts") or {}).values():
            outcomes += other.get("outcomes") or []
        points[key] = {row["see"] for row in outcomes if "see" in row}
    for key, entry in sections["items"].items():
        reached, todo = set(), list(points[key])
        while todo:
            name = todo.pop()
            if name not in reached:
                reached.add(name)
                todo += points.get(name, ())
        if key in reached:
            cure = "Let one of them have its own 'goes'"
            yield entry.mistake(f"'{key}' points in a circle with 'see'", cure)


class Checker:
    """The references of each section. A method is named after the section it checks."""

    def __init__(self, sections: Sections) -> None:
        self.sections = sections

    def known(self, entry: Entry, name: str, section: str, *path: str | int) -> Iterator[Mistake]:
        """A mistake if `name` is not in a section."""
        if name not in self.sections[section]:
            one = section.rstrip("s")
            cure = (
                nearest(name, self.sections[section]) or f"Add it to the {section}, or correct it"
            )
            yield entry.mistake(f"there is no {one} '{name}'", cure, *path)

    def goes(self, entry: Entry, name: str, *path: str | int) -> Iterator[Mistake]:
        both = {**self.sections["streams"], **self.sections["destinations"]}
        if name not in both:
            cure = nearest(name, both) or "Use a stream or a destination"
            what = f"'{name}' is neither a stream nor a destination"
            yield entry.mistake(what, cure, *path)

    def districts(self, entry: Entry) -> Iterator[Mistake]:
        for i, container in enumerate(entry.data["containers"]):
            yield from self.known(entry, container["code"], "destinations", "containers", i, "code")
            for j, stream in enumerate(container["takes"]):
                name = stream if isinstance(stream, str) else stream["stream"]
                yield from self.known(entry, name, "streams", "containers", i, "takes", j)

    def conditions(self, entry: Entry) -> Iterator[Mistake]:
        values = entry.data["values"]
        if len(values) < 2:
            yield entry.mistake(
                "a condition with one value decides nothing", "Add another", "values"
            )
        for name, value in values.items():
            denied = value.get("denied")
            if denied and denied not in values:
                cure = nearest(denied, values)
                what = f"there is no value '{denied}' here"
                yield entry.mistake(what, cure, "values", name, "denied")

    def tables(self, entry: Entry) -> Iterator[Mistake]:
        yield from self.table(entry, entry.data, ())

    def items(self, entry: Entry) -> Iterator[Mistake]:
        data = entry.data
        if "follows" in data:
            yield from self.known(entry, data["follows"], "tables", "follows")
            for key in ("ask", "assume"):
                if key in data:
                    cure = "Remove it, or give the item its own outcomes"
                    yield entry.mistake(f"'{key}' beside 'follows' is not used", cure, key)
            if "hazard" in data:
                yield from self.known(entry, data["hazard"], "dangers", "hazard")
        else:
            yield from self.table(entry, data, ())
        for district, other in (data.get("districts") or {}).items():
            yield from self.known(entry, district, "districts", "districts", district)
            yield from self.table(entry, other, ("districts", district))
        gives = (data.get("mark") or {}).get("gives") or {}
        yield from self.facts(entry, gives, ("mark", "gives"))

    def facts(self, entry: Entry, facts: Mapping[str, Any], path: Path) -> Iterator[Mistake]:
        """Conditions and values that do not exist."""
        for name, values in facts.items():
            wrong = list(self.known(entry, name, "conditions", *path, name))
            yield from wrong
            if wrong:
                continue
            known = self.sections["conditions"][name].data["values"]
            for value in [values] if isinstance(values, str) else values:
                if value not in known:
                    cure = nearest(value, known) or f"Use one of: {', '.join(known)}"
                    what = f"condition '{name}' has no value '{value}'"
                    yield entry.mistake(what, cure, *path, name)

    def table(self, entry: Entry, data: Mapping[str, Any], path: Path) -> Iterator[Mistake]:
        ask = data.get("ask") or {}
        for i, name in enumerate(ask if isinstance(ask, list) else []):
            yield from self.known(entry, name, "conditions", *path, "ask", i)
        if isinstance(ask, dict):
            yield from self.facts(entry, ask, (*path, "ask"))
        assume = data.get("assume") or {}
        yield from self.facts(entry, assume, (*path, "assume"))
        yield from self.facts(entry, data.get("cautious") or {}, (*path, "cautious"))
        if data.get("hazard"):
            yield from self.known(entry, data["hazard"], "dangers", *path, "hazard")
        listed = {*ask, *assume}
        for name in set(ask) & set(assume):
            cure = "Keep it under one of the two"
            yield entry.mistake(f"'{name}' is both asked and assumed", cure, *path, "assume", name)
        for i, row in enumerate(data["outcomes"]):
            here = (*path, "outcomes", i)
            yield from self.facts(entry, row.get("when") or {}, (*here, "when"))
            for name in row.get("when") or {}:
                if name in self.sections["conditions"] and name not in listed:
                    cure = "Add it under 'ask' or 'assume'"
                    what = f"condition '{name}' is used but neither asked nor assumed"
                    yield entry.mistake(what, cure, *here, "when", name)
            if "goes" in row:
                yield from self.goes(entry, row["goes"], *here, "goes")
            if "see" in row:
                yield from self.known(entry, row["see"], "items", *here, "see")
            for j, other in enumerate(row.get("or") or []):
                yield from self.goes(entry, other, *here, "or", j)

    def signs(self, entry: Entry) -> Iterator[Mistake]:
        yield from self.known(entry, entry.data["goes"], "destinations", "goes")
        if "danger" in entry.data:
            yield from self.known(entry, entry.data["danger"], "dangers", "danger")

    def fallback(self, entry: Entry) -> Iterator[Mistake]:
        yield from self.goes(entry, entry.data["goes"], "goes")

    def guide(self, entry: Entry) -> Iterator[Mistake]:
        common = entry.data["common"]
        for i, name in enumerate(common):
            yield from self.known(entry, name, "items", "common", i)
            if name in common[:i]:
                yield entry.mistake(f"'{name}' is listed twice", "Keep one", "common", i)
        for stream, listed in entry.data["tags"].items():
            yield from self.known(entry, stream, "streams", "tags", stream)
            for i, one in enumerate(listed):
                here = ("tags", stream, i)
                told: Mapping[str, Any] = {"item": one, "when": {}} if isinstance(one, str) else one
                yield from self.known(entry, told["item"], "items", *here)
                yield from self.facts(entry, told["when"], (*here, "when"))
                if one in listed[:i]:
                    cure = "Keep one"
                    yield entry.mistake(f"'{told['item']}' is listed twice", cure, *here)

    def centres(self, entry: Entry) -> Iterator[Mistake]:
        yield from self.known(entry, entry.data["district"], "districts", "district")
        both = {**self.sections["items"], **self.sections["streams"]}
        for i, name in enumerate(entry.data["takes"]):
            if name not in both:
                cure = nearest(name, both) or "Use the id of an item or a stream"
                yield entry.mistake(f"'{name}' is neither an item nor a stream", cure, "takes", i)

    def changes(self, entry: Entry) -> Iterator[Mistake]:
        for i, name in enumerate(entry.data["districts"]):
            yield from self.known(entry, name, "districts", "districts", i)
