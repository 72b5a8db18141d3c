"""What differs between two books in topics, places, questions and words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import date
from typing import Any

from rules.compare.words import capital, day, ended, listed, quoted
from rules.model import Book


@dataclass(frozen=True, slots=True)
class EntryChange:
    """An entry of the books that came, went or differs in one field.

    `section` is the books' own name of it, `what` is `came`, `went` or `changed`. `old` and `new`
    are the field's plain values, `None` where there is none.
    """

    section: str
    id: str
    name: str
    what: str
    field: str | None
    old: Any
    new: Any
    say: str


SECTIONS: Mapping[str, tuple[str, str]] = {
    "destinations": ("destination", "name"),
    "streams": ("stream", "name"),
    "districts": ("district", "name"),
    "conditions": ("question", "question"),
    "dangers": ("danger", "name"),
    "signs": ("hazard words of unknown things", "id"),
    "centres": ("recycling centre", "name"),
    "topics": ("topic", "title"),
    "changes": ("announcement", "on"),
}
"""The sections, what an entry of each is called, and the field that names one to a person."""

APART = frozenset({"where", "id", "code", "containers", "values"})
"""Fields that are no text of an entry, or are compared elsewhere."""

FIELDS: Mapping[str, str] = {
    "also": "other names",
    "question": "its words",
    "again": "the question put again",
    "short": "the short form",
    "wont_do": "how people say it will not do",
    "takes": "what it takes",
    "refuses": "what it refuses",
    "becomes": "what it becomes",
    "care": "its rank for hazards in doubt",
    "spoils": "its rank for other things in doubt",
    "says": "the words that mean it",
    "replies": "replies that mean it",
    "assumed": "how it is said to be taken as given",
    "denied": "what its denial means",
    "never": "the caution",
    "live": "signs that it is happening now",
    "emergency": "what is said of an emergency",
    "any_hazard": "whether any dangerous thing can have it",
    "prepare": "what to do",
    "goes": "where it goes",
    "why": "the reason",
    "answer": "the answer",
    "referral": "whether it is passed to the contact centre",
    "on": "the day",
    "starts": "the first day",
    "hazard": "the kind of danger",
    "mark": "the mark on packaging",
    "plural": "whether it is spoken of as several",
}
"""What a field is called where its own name does not say it."""


def entry_changes(old: Book, new: Book) -> Iterator[EntryChange]:
    """Every entry that came, went or differs, section by section."""
    for section, (noun, title) in SECTIONS.items():
        before, after = getattr(old, section), getattr(new, section)
        yield from entries(section, noun, title, before, after)
    for section, noun in (("scheme", "the partnership"), ("fallback", "things no rule knows")):
        yield from changed(section, "", noun, getattr(old, section), getattr(new, section))
    for section, noun in (
        ("live_signs", "signs of a danger happening now"),
        ("not_live", "words that are no sign of a danger"),
    ):
        if getattr(old, section) != getattr(new, section):
            yield field_change(section, "", noun, "", getattr(old, section), getattr(new, section))


def entries(
    section: str, noun: str, title: str, old: Mapping[str, Any], new: Mapping[str, Any]
) -> Iterator[EntryChange]:
    """The entries of one section."""
    for key in [*old, *(k for k in new if k not in old)]:
        entry = new.get(key) or old[key]
        name = f"{noun} {title_of(entry, title)}"
        if key not in new:
            yield EntryChange(section, key, name, "went", None, None, None, f"Gone: {name}.")
        elif key not in old:
            say = f"New: {name}."
            if section == "changes":
                say = f"New: {name}. {entry.answer}"
            yield EntryChange(section, key, name, "came", None, None, None, say)
        else:
            yield from changed(section, key, name, old[key], new[key])
            if section == "conditions":
                yield from values(key, name, old[key].values, new[key].values)
            if section == "districts":
                yield from container_names(key, old[key].containers, new[key].containers)


def title_of(entry: Any, title: str) -> str:
    """What a person calls an entry."""
    value = getattr(entry, title)
    if isinstance(value, date):
        return f"for {day(value)}"
    return quoted(str(value).replace("_", " ").replace("{item}", "item"))


def values(
    condition: str, name: str, old: Mapping[str, Any], new: Mapping[str, Any]
) -> Iterator[EntryChange]:
    """The answers to a question."""
    for key in [*old, *(k for k in new if k not in old)]:
        label = f"{name}, answer {quoted((new.get(key) or old[key]).label)}"
        if key not in new or key not in old:
            what, word = ("went", "Gone") if key not in new else ("came", "New")
            yield EntryChange(
                "conditions",
                f"{condition}.{key}",
                label,
                what,
                None,
                None,
                None,
                f"{word}: {label}.",
            )
        else:
            yield from changed("conditions", f"{condition}.{key}", label, old[key], new[key])


def container_names(district: str, old: Any, new: Any) -> Iterator[EntryChange]:
    """What else people call a container that both books have."""
    before = {(c.code, c.name): c.also for c in old}
    for one in new:
        key = one.code, one.name
        if key in before and before[key] != one.also:
            name = f"container {quoted(one.name)}"
            yield field_change("districts", district, name, "also", before[key], one.also)


def changed(section: str, key: str, name: str, old: Any, new: Any) -> Iterator[EntryChange]:
    """The fields in which two entries differ."""
    for field in fields(old):
        before, after = getattr(old, field.name), getattr(new, field.name)
        if field.name not in APART and before != after:
            yield field_change(section, key, name, field.name, before, after)


def field_change(section: str, key: str, name: str, field: str, old: Any, new: Any) -> EntryChange:
    """One field that differs. Of lists the words that came and went are told."""
    what = FIELDS.get(field, field)
    start = capital(name) + (f", {what}" if what else "")
    if isinstance(old, tuple) and isinstance(new, tuple) and set(old) != set(new):
        parts = [
            f"{word} {listed(map(quoted, texts))}"
            for word, texts in (
                ("new:", [x for x in new if x not in old]),
                ("gone:", [x for x in old if x not in new]),
            )
            if texts
        ]
        say = ended(f"{start}: {'; '.join(parts)}")
    elif isinstance(old, bool) and isinstance(new, bool):
        say = f"{start}: {'yes' if new else 'no'} (before: {'yes' if old else 'no'})."
    else:
        say = ended(f"{start}: {shown(new)} instead of {shown(old)}")
    return EntryChange(section, key, name, "changed", field or None, simple(old), simple(new), say)


def shown(value: Any) -> str:
    """A value in a sentence."""
    if value is None or value == ():
        return "nothing"
    if isinstance(value, date):
        return day(value)
    if isinstance(value, tuple):
        return listed(map(quoted, map(str, value)))
    if isinstance(value, int):
        return str(value)
    if isinstance(value, str):
        return quoted(value)
    return quoted(" ".join((*value.numbers, *value.letters)))


def simple(value: Any) -> Any:
    """A value as JSON has it."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [str(x) for x in value]
    if value is None or isinstance(value, bool | int | str):
        return value
    return [*value.numbers, *value.letters]
