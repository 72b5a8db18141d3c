"""The words in which a difference between two books is told to an officer."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from rules.compare.answers import Goes
from rules.compare.cases import Box
from rules.compare.runs import Span
from rules.model import DISTRICT, Book

SHOWN = 4
"""Items a line names; how many more there are follows."""

CASES = 3
"""Cases of one item that a line tells."""


def day(on: date) -> str:
    """A day as people write it."""
    return f"{on.day} {on:%B %Y}"


def listed(words: Iterable[str], last: str = "and") -> str:
    """Words as a list in a sentence."""
    every = list(words)
    if len(every) < 2:
        return "".join(every)
    return f"{', '.join(every[:-1])} {last} {every[-1]}"


def capital(text: str) -> str:
    """Text with its first letter large."""
    return text[:1].upper() + text[1:]


def small(text: str) -> str:
    """Text with its first letter small, unless it is a word all in capitals."""
    return text if text[:2].isupper() else text[:1].lower() + text[1:]


def quoted(text: str) -> str:
    """Text between quotation marks."""
    return f"“{text}”"


def ended(text: str) -> str:
    """A sentence with its full stop, unless a quotation brings one."""
    return text if text.endswith((".”", "?”", "!”", ".")) else f"{text}."


def when(span: Span) -> str:
    """The days of a span."""
    if span.start is None:
        return ""
    if span.end is None:
        return f"from {day(span.start)}"
    if span.start == span.end:
        return f"on {day(span.start)}"
    return f"from {day(span.start)} until {day(span.end)}"


class Words:
    """Names of things in two books; where both know one, the newer name."""

    def __init__(self, old: Book, new: Book) -> None:
        self.old, self.new = old, new
        self.places = {k: d.name for k, d in {**old.districts, **new.districts}.items()}
        self.conditions = {**old.conditions, **new.conditions}
        self.destinations = {**old.destinations, **new.destinations}
        self.streams = {**old.streams, **new.streams}

    # ---- who and what

    def items(self, names: Sequence[str]) -> str:
        """Some items, the first few by name."""
        if len(names) <= SHOWN:
            return capital(listed(names))
        return capital(f"{', '.join(names[:SHOWN])} and {len(names) - SHOWN} more")

    def where(self, districts: Sequence[str | None]) -> str:
        """In which districts."""
        if list(districts) == [None]:
            return "to somebody whose district is not known"
        names = [self.places[d] for d in districts if d]
        return "in every district" if len(names) == len(self.places) else f"in {listed(names)}"

    def case(self, told: Sequence[Box]) -> str:
        """In which cases, by the answers that residents choose from."""
        cases = [self.box(box) for box in told if box]
        if len(cases) > CASES:
            cases = [*cases[: CASES - 1], f"{len(cases) - CASES + 1} more cases"]
        return "; or ".join(cases)

    def box(self, box: Box) -> str:
        """One case."""
        return ", with ".join(listed((quoted(self.label(c, v)) for v in vs), "or") for c, vs in box)

    def label(self, condition: str, value: str) -> str:
        """One answer to a question."""
        for book in (self.new, self.old):
            if condition in book.conditions and value in book.conditions[condition].values:
                return book.conditions[condition].values[value].label
        return self.places.get(value, value)

    # ---- values

    def place(self, code: str, names: Sequence[str] = ()) -> str:
        """A destination: its container's name where it has one."""
        if names:
            return listed((f"the {name}" for name in names), "or")
        if code in self.destinations:
            return self.destinations[code].name
        return self.streams[code].name if code in self.streams else code

    def value(
        self, aspect: str, value: Any, names: Sequence[str], fill: Mapping[str, str]
    ) -> str | None:
        """The old or the new value of an aspect, `None` where there is none."""
        if value is None:
            return None
        if isinstance(value, Goes):
            return self.place(value.code, names)
        if aspect == "others":
            return listed((self.place(code) for code in value), "or")
        if aspect == "question":
            return self.question(value[0], value[1], fill)
        if aspect == "assumed":
            return listed(quoted(self.taken(c, v)) for c, v in value)
        text = " ".join(value) if isinstance(value, tuple) else str(value)
        for name, word in fill.items():
            text = text.replace(f"{{{name}}}", word)
        return quoted(text)

    def question(self, condition: str, values: Sequence[str], fill: Mapping[str, str]) -> str:
        """A question with the answers to choose from."""
        if condition == DISTRICT:
            return "which district"
        text = self.conditions[condition].question.replace("{item}", fill["item"])
        return f"{quoted(text)} ({', '.join(self.label(condition, v) for v in values)})"

    def taken(self, condition: str, value: str) -> str:
        """What is taken as given."""
        found = self.conditions[condition].values.get(value)
        return (found.assumed if found else None) or small(self.label(condition, value))


LABELS = {
    "goes": "Where it goes",
    "container": "Its container",
    "others": "Other places",
    "question": "What is asked",
    "careful": "If nobody can tell",
    "assumed": "Taken as given",
    "prepare": "How to prepare it",
    "caution": "Caution",
    "why": "Reason",
    "source": "Source",
}
"""What each aspect is called."""

TOLD = {
    "goes": (
        "{new} instead of {old}",
        "{new}, which is a new case",
        "{old} no longer has this case",
    ),
    "container": ("{new} instead of {old}", "{new}", "no longer {old}"),
    "others": (
        "the other places named are {new} instead of {old}",
        "another place is named: {new}",
        "no other place is named any more (before: {old})",
    ),
    "question": ("it asks {new} instead of {old}", "it now asks {new}", "it no longer asks {old}"),
    "careful": ("if nobody can tell, {new} instead of {old}", "{new}", "no longer {old}"),
    "assumed": (
        "it is taken as given that {new} instead of {old}",
        "it is now taken as given that {new}",
        "it is no longer taken as given that {old}",
    ),
    "prepare": (
        "how to prepare it: {new} instead of {old}",
        "how to prepare it, which is new: {new}",
        "there is nothing to prepare any more (before: {old})",
    ),
    "caution": (
        "the caution is {new} instead of {old}",
        "there is a caution now: {new}",
        "there is no caution any more (before: {old})",
    ),
    "why": ("the reason is {new} instead of {old}", "the reason is {new}", "no reason ({old})"),
    "source": (
        "the source named is {new} instead of {old}",
        "the source named is {new}",
        "no source is named any more (before: {old})",
    ),
}
"""How each aspect is told: both values there, only the new one, only the old one."""


def told(aspect: str, old: str | None, new: str | None) -> str:
    """One difference of an aspect."""
    both, came, went = TOLD[aspect]
    text = came if old is None else went if new is None else both
    return text.format(old=old, new=new)
