"""All that a book says of an item in a district on a day, for comparing it with another book."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from itertools import product
from typing import Any

from rules.compare.cases import Case
from rules.compare.marks import Mark, Marks
from rules.decide import (
    Decision,
    Question,
    decide,
    decide_cautiously,
    leaves,
    matching,
)
from rules.model import Book

QUESTIONS = 4
"""Questions in a row that are followed; the check allows two, and one for the district."""


@dataclass(frozen=True, slots=True)
class Goes:
    """A destination's code, and what the district calls the container if there is one."""

    code: str
    container: str | None


@dataclass(frozen=True, slots=True)
class Said:
    """One answer. Texts are as the officer wrote them, placeholders unfilled."""

    goes: Goes
    others: tuple[str, ...]
    prepare: tuple[str, ...]
    caution: str | None
    why: str
    source: str


@dataclass(frozen=True, slots=True)
class Step:
    """What a resident gets who has said so much: a question (the condition, the values to choose
    from, and where the thing goes if they cannot tell), or an answer with what it takes as given.
    """

    condition: str | None = None
    values: tuple[str, ...] = ()
    careful: Goes | None = None
    assumed: tuple[tuple[str, str], ...] = ()


class View:
    """A book, looked at item by item."""

    def __init__(self, book: Book) -> None:
        self.book = book
        # With every name blank, texts compare as they were written.
        items = {k: replace(i, name="{item}") for k, i in book.items.items()}
        districts = {
            k: replace(d, containers=tuple(replace(c, name="{container}") for c in d.containers))
            for k, d in book.districts.items()
        }
        self.blank = replace(book, items=items, districts=districts)
        self.marks = Marks(book)
        self.told: dict[tuple[str, str], list[tuple[Any, Mapping[Case, Said]]]] = {}

    def day(self, day: date) -> date:
        """A day, or the scheme's first if that is later."""
        return max(day, self.book.scheme.starts)

    def mark(self, item: str, district: str, day: date) -> Mark:
        """Something that is equal for two books only if they say the same of an item."""
        return self.marks.mark(item, district, self.day(day))

    # ---- what it says

    def answers(self, item: str, district: str, day: date) -> Mapping[Case, Said]:
        """The answer for every full set of facts that a resident could state."""
        mark = self.mark(item, district, day)
        kept = self.told.setdefault((item, district), [])
        for known, said in kept:
            if known == mark:
                return said
        day = self.day(day)
        told = {}
        for facts in self.full(item, district, day, {}):
            (leaf,) = leaves(self.blank, district, day, item, facts, frozenset())
            told[frozenset(facts.items())] = self.said(leaf.decision, district, day)
        kept.append((mark, told))
        return told

    def answer(self, item: str, district: str, day: date, case: Case) -> Said | None:
        """The answer to some facts, of which values the book does not know are passed over; `None`
        where it has to ask."""
        day = self.day(day)
        told = decide(self.blank, district, day, item, dict(case))
        return self.said(told, district, day) if isinstance(told, Decision) else None

    def full(
        self, item: str, district: str, day: date, facts: Mapping[str, str]
    ) -> Iterator[dict[str, str]]:
        """Every combination of the conditions that an item's table, or one it points to, knows."""
        table = self.book.items[item].table_for(district)
        known = {**table.ask, **{c: tuple(self.book.conditions[c].values) for c in table.assume}}
        open_ = [c for c in known if facts.get(c) not in known[c]]
        for combination in product(*(known[c] for c in open_)):
            every = {**facts, **dict(zip(open_, combination, strict=True))}
            rows = matching(table, every, day)
            if len(rows) == 1 and rows[0].see:
                yield from self.full(rows[0].see, district, day, every)
            else:
                yield every

    def said(self, decision: Decision, district: str, day: date) -> Said:
        """A decision as what is compared."""
        return Said(
            goes=self.goes(decision, district, day),
            others=decision.alternatives,
            prepare=decision.prepare,
            caution=decision.caution,
            why=decision.why,
            source=decision.source,
        )

    def goes(self, decision: Decision, district: str, day: date) -> Goes:
        """Where a decision leads, with the container's real name."""
        wanted = decision.stream or decision.destination
        container = self.book.container(district, wanted, day) if decision.container else None
        return Goes(decision.destination, container.name if container else None)

    # ---- what it asks

    def starts(self, item: str, district: str, day: date) -> set[Case]:
        """What can be said unasked: nothing, or another value of what is taken as given."""
        usual = self.usual(item, district)
        found = {frozenset[tuple[str, str]]()}
        if usual:
            for case in self.answers(item, district, day):
                found.add(frozenset((c, v) for c, v in case if c in usual))
        return found

    def steps(
        self, item: str, district: str, day: date, starts: Collection[Case]
    ) -> dict[Case, Step]:
        """What is asked and taken as given after each of some beginnings."""
        found: dict[Case, Step] = {}
        for start in sorted(starts, key=lambda s: (len(s), sorted(s))):
            self.follow(item, district, self.day(day), dict(start), found, QUESTIONS)
        return found

    def follow(
        self,
        item: str,
        district: str,
        day: date,
        facts: dict[str, str],
        found: dict[Case, Step],
        most: int,
    ) -> None:
        """The step after some facts, and those after each answer to its question."""
        case = frozenset(facts.items())
        if case in found:
            return
        step = decide(self.blank, district, day, item, facts)
        if isinstance(step, Decision):
            assumed = tuple((c, step.facts[c]) for c in step.assumed if c in step.facts)
            found[case] = Step(assumed=assumed)
            return
        cautious = decide_cautiously(self.blank, district, day, item, facts)
        found[case] = Step(step.condition, step.values, self.goes(cautious, district, day))
        for value in step.values if most else ():
            self.follow(item, district, day, {**facts, step.condition: value}, found, most - 1)

    def asks_district(self, item: str, day: date) -> Step:
        """What somebody is asked first who has said neither a fact nor a district."""
        step = decide(self.blank, None, self.day(day), item)
        if isinstance(step, Question):
            return Step(step.condition, step.values)
        return Step()

    def usual(self, item: str, district: str) -> dict[str, str]:
        """What is taken as given and never asked, in an item's table and those it points to."""
        found: dict[str, str] = {}
        asked: set[str] = set()
        names = [item]
        for name in names:
            table = self.book.items[name].table_for(district)
            found = {**table.assume, **found}
            asked |= set(table.ask)
            names += [r.see for r in table.rows if r.see and r.see not in names]
        return {c: v for c, v in found.items() if c not in asked}
