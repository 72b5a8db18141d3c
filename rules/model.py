"""The rule book as frozen, typed objects.

Dates are `datetime.date`, both ends included; `None` means open on that side. Ids are the keys of
the rule files. Every text is as the officer wrote it, placeholders unfilled.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from types import MappingProxyType

DISTRICT = "district"
"""Name of the condition that stands for the resident's district in questions."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where in the rule files something stands."""

    file: str
    line: int

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}"


@dataclass(frozen=True, slots=True)
class Period:
    """Days on which something holds, both ends included."""

    start: date | None = None
    end: date | None = None

    def holds(self, day: date) -> bool:
        """Whether `day` lies in the period."""
        return (self.start is None or self.start <= day) and (self.end is None or day <= self.end)


@dataclass(frozen=True, slots=True)
class Destination:
    """A place or service an item can go to, by the code a program reads.

    `kind` is `bin` (a container emptied into a truck), `bag` (collected beside a bin by hand),
    `place`, `service`, `hold` or `emergency`. `care` ranks a doubtful hazard (higher is more
    careful); `spoils` ranks a doubtful harmless thing (lower spoils less).
    """

    code: str
    name: str
    kind: str
    phrase: str
    short: str
    care: int
    spoils: int
    wont_do: tuple[str, ...]
    where: Place


@dataclass(frozen=True, slots=True)
class Stream:
    """A kind of waste collected together, whatever its container is called."""

    id: str
    name: str
    also: tuple[str, ...]
    takes: str
    refuses: str
    becomes: str
    source: str
    where: Place


@dataclass(frozen=True, slots=True)
class Container:
    """What a district calls the container for some streams, in a period."""

    code: str
    name: str
    also: tuple[str, ...]
    period: Period
    takes: tuple[tuple[str, Period], ...]
    where: Place

    def accepts(self, stream: str, day: date) -> bool:
        """Whether the stream goes in this container on that day."""
        return self.period.holds(day) and any(s == stream and p.holds(day) for s, p in self.takes)


@dataclass(frozen=True, slots=True)
class District:
    """A collection authority, its containers and what people call it."""

    id: str
    name: str
    also: tuple[str, ...]
    containers: tuple[Container, ...]
    where: Place


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a condition. `assumed` says it when taken as given; `denied` is what its
    denial means ("not greasy" means `clean`). `says` are phrases that mean it anywhere, `replies`
    whole replies to its question that others like them are compared with."""

    id: str
    label: str
    says: tuple[str, ...]
    assumed: str | None
    denied: str | None
    replies: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Condition:
    """Something about an item that can change where it goes."""

    id: str
    question: str
    again: str
    short: str
    values: Mapping[str, Value]
    where: Place


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a decision table: when it holds and what follows.

    Exactly one of `goes` (a stream or a destination code) and `see` (another item that decides)
    is set. Texts that are `None` are taken from the item, then from the table it follows.
    """

    when: Mapping[str, frozenset[str]]
    period: Period
    goes: str | None
    see: str | None
    alternatives: tuple[str, ...]
    prepare: tuple[str, ...] | None
    why: str | None
    caution: str | None
    safe_because: str | None
    source: str | None
    where: Place


@dataclass(frozen=True, slots=True)
class Table:
    """A decision table: what is asked, what is assumed, and one row per combination."""

    ask: Mapping[str, tuple[str, ...]]
    assume: Mapping[str, str]
    rows: tuple[Row, ...]
    where: Place
    name: str
    because: str | None = None
    prepare: tuple[str, ...] | None = None
    why: str | None = None
    caution: str | None = None
    source: str | None = None
    hazard: str | None = None
    cautious: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark on packaging: the figures and letters people read out."""

    numbers: tuple[str, ...]
    letters: tuple[str, ...]
    gives: Mapping[str, str]
    overrides: bool


@dataclass(frozen=True, slots=True)
class Item:
    """A thing residents ask about, and the table that decides it (or one for each district)."""

    id: str
    name: str
    also: tuple[str, ...]
    table: Table
    overrides: Mapping[str, Table]
    hazard: str | None
    plural: bool
    mark: Mark | None
    section: str
    where: Place

    def table_for(self, district: str) -> Table:
        """The table that holds in a district."""
        return self.overrides.get(district, self.table)


@dataclass(frozen=True, slots=True)
class Danger:
    """A kind of hazard: what it does, the signs that it is happening now, and what to do then.

    `live` are the words of this kind that count only with a thing of this kind, or with any
    dangerous thing if `any_hazard`; `prepare` is what to do when it is live.
    """

    id: str
    name: str
    never: str
    live: tuple[str, ...]
    emergency: str
    prepare: tuple[str, ...]
    source: str
    where: Place
    any_hazard: bool = False


@dataclass(frozen=True, slots=True)
class Sign:
    """Words in the description of an unknown thing that tell a hazard, and where it then goes.

    `danger` is the kind of danger whose live signs then count.
    """

    id: str
    says: tuple[str, ...]
    goes: str
    why: str
    caution: str
    source: str
    where: Place
    danger: str | None = None


@dataclass(frozen=True, slots=True)
class Fallback:
    """Advice for what the rules do not know."""

    goes: str
    why: str
    prepare: tuple[str, ...]
    source: str
    where: Place


@dataclass(frozen=True, slots=True)
class Centre:
    """A household waste recycling centre."""

    id: str
    name: str
    district: str
    address: str
    hours: tuple[str, ...]
    takes: tuple[str, ...]
    note: str | None
    where: Place


@dataclass(frozen=True, slots=True)
class Topic:
    """An answer to a question that is not about one item."""

    id: str
    title: str
    says: tuple[str, ...]
    answer: str
    short: str
    referral: bool
    source: str
    where: Place


@dataclass(frozen=True, slots=True)
class Change:
    """Something that changes on a date, in words."""

    id: str
    on: date
    districts: tuple[str, ...]
    answer: str
    short: str
    source: str
    where: Place


@dataclass(frozen=True, slots=True)
class Misplaced:
    """A thing people wrongly put in a stream's container; `facts` say what is wrong with it."""

    item: str
    facts: Mapping[str, str]
    where: Place


@dataclass(frozen=True, slots=True)
class Guide:
    """What is printed: the ids of common items, the commonest first, and the tag's tick-boxes of
    each stream."""

    common: tuple[str, ...]
    tags: Mapping[str, tuple[Misplaced, ...]]
    where: Place


@dataclass(frozen=True, slots=True)
class Scheme:
    """The partnership: who answers beyond the rules."""

    name: str
    county: str
    starts: date
    phone: str
    hours: str
    web: str
    plant: str
    where: Place


@dataclass(frozen=True, slots=True)
class SourceFile:
    """A rule file: who owns it and when it was last reviewed (`where` that stands)."""

    path: str
    about: str
    owner: str
    reviewed: date
    where: Place


@dataclass(frozen=True)
class Book:
    """A whole rule book. `version` is a hash of the files' bytes."""

    version: str
    scheme: Scheme
    destinations: Mapping[str, Destination]
    streams: Mapping[str, Stream]
    districts: Mapping[str, District]
    conditions: Mapping[str, Condition]
    tables: Mapping[str, Table]
    items: Mapping[str, Item]
    dangers: Mapping[str, Danger]
    live_signs: tuple[str, ...]
    not_live: tuple[str, ...]
    signs: Mapping[str, Sign]
    fallback: Fallback
    centres: Mapping[str, Centre]
    topics: Mapping[str, Topic]
    changes: Mapping[str, Change]
    files: tuple[SourceFile, ...]
    guide: Guide | None = None

    def container(self, district: str, goes: str, day: date) -> Container | None:
        """The container a stream, or a destination code, has in a district on a day."""
        for container in self.districts[district].containers:
            if container.accepts(goes, day) or (
                container.code == goes and container.period.holds(day)
            ):
                return container
        return None

    def turning_days(self) -> tuple[date, ...]:
        """Days on which an answer can change, the scheme's first day included, in order."""
        days = {self.scheme.starts}
        periods = [c.period for d in self.districts.values() for c in d.containers]
        periods += [p for d in self.districts.values() for c in d.containers for _, p in c.takes]
        for item in self.items.values():
            for table in (item.table, *item.overrides.values()):
                periods += [row.period for row in table.rows]
        for period in periods:
            if period.start:
                days.add(period.start)
            if period.end:
                days.add(date.fromordinal(period.end.toordinal() + 1))
        return tuple(sorted(d for d in days if d >= self.scheme.starts))

    def named(self, name: str) -> str | None:
        """The item with exactly this name, small letters and spaces aside."""
        return self._names.get("".join(name.lower().split()))

    @cached_property
    def _names(self) -> Mapping[str, str]:
        return {
            "".join(n.lower().split()): i.id for i in self.items.values() for n in (i.name, *i.also)
        }

    def conditions_that_matter(self, item: str) -> frozenset[str]:
        """All conditions that an item, or one its rows point to, asks or assumes."""
        found: set[str] = set()
        seen: set[str] = set()
        todo = [item]
        while todo:
            name = todo.pop()
            if name in seen:
                continue
            seen.add(name)
            thing = self.items[name]
            for table in (thing.table, *thing.overrides.values()):
                found |= {*table.ask, *table.assume}
                todo += [row.see for row in table.rows if row.see]
        return frozenset(found)
