"""The proof of a rule book: one safe answer for every item, district, day and combination of facts.

A table has a *unique* hit policy in the sense of the OMG's Decision Model and Notation: for every
combination exactly one row holds. Nothing is sampled: all combinations of all values of all asked
and assumed conditions are gone through, on every day on which an answer can change.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import product
from time import perf_counter

from rules.check_guide import check_guide
from rules.check_texts import check_texts, fits, joined, tables_of
from rules.decide import (
    Decision,
    Facts,
    RuleGap,
    decide,
    decide_cautiously,
    matching,
    outcome,
    place,
    without,
)
from rules.finding import Finding, Findings
from rules.model import Book, Item, Place, Row, Table

__all__ = ["Finding", "Proof", "ShortForm", "prove"]

ShortForm = Callable[[Decision], str]
"""The text message that says a decision."""

QUESTIONS = 2
"""Questions a resident may be put before the answer."""


@dataclass(frozen=True, slots=True)
class Proof:
    """What was found wrong, and how much was gone through.

    `combinations` counts every district, day, item and full set of facts; `answers` the different
    answers whose words were read; `walks` the ways of answering questions that were followed.
    """

    findings: tuple[Finding, ...]
    districts: int
    days: int
    items: int
    combinations: int
    answers: int
    walks: int
    seconds: float

    @property
    def errors(self) -> tuple[Finding, ...]:
        """The findings that make the book unfit for use."""
        return tuple(f for f in self.findings if f.severity == "error")

    @property
    def warnings(self) -> tuple[Finding, ...]:
        """The findings that do not."""
        return tuple(f for f in self.findings if f.severity == "warning")


def prove(book: Book, today: date, short_form: ShortForm | None = None) -> Proof:
    """Go through the whole book. Without `short_form` the lengths of answers are not checked."""
    start = perf_counter()
    found = Findings()
    check_texts(book, today, found)
    prover = Prover(book, short_form, found)
    prover.tables()
    prover.combinations()
    prover.questions()
    if not prover.unsound:
        check_guide(book, found)
    return Proof(
        findings=found.listed(),
        districts=len(book.districts),
        days=len(prover.days),
        items=len(book.items),
        combinations=prover.count,
        answers=len(prover.read),
        walks=prover.walks,
        seconds=perf_counter() - start,
    )


Hits = list[tuple[Mapping[str, str], Row | None]]
"""Each combination of a table's conditions and its row, `None` where there is not just one."""


Places = frozenset[tuple[str, str | None, str | None]]
"""Code, container name and stream of each place an item can go to."""


@dataclass(frozen=True, slots=True)
class Case:
    """One full set of facts: the item and row that decide, and the dangers on the way there."""

    item: Item
    table: Table
    row: Row
    facts: Facts
    hazard: str | None


class Prover:
    """The proof of a book's tables."""

    def __init__(self, book: Book, short_form: ShortForm | None, found: Findings) -> None:
        self.book = book
        self.short_form = short_form
        self.found = found
        self.days = book.turning_days()
        self.hits_of: dict[tuple[str, Place, date], Hits] = {}
        self.unsound: set[tuple[str, Place]] = set()
        self.seen: set[tuple[object, ...]] = set()
        self.read: set[tuple[object, ...]] = set()
        self.stated: dict[tuple[str, str, date], set[frozenset[tuple[str, str]]]] = {}
        self.tables_ahead: dict[tuple[str, str], tuple[Table, ...]] = {}
        self.count = 0
        self.walks = 0

    def values(self, table: Table) -> dict[str, tuple[str, ...]]:
        """Every condition of a table with the values it can have there."""
        assumed = {c: tuple(self.book.conditions[c].values) for c in table.assume}
        return {**table.ask, **assumed}

    def hits(self, table: Table, day: date) -> Hits:
        """The row of each combination on a day. Items that follow one table share the work."""
        key = table.name, table.where, day
        if key not in self.hits_of:
            conditions = self.values(table)
            hits: Hits = []
            for combination in product(*conditions.values()):
                facts = dict(zip(conditions, combination, strict=True))
                rows = matching(table, facts, day)
                if len(rows) != 1:
                    self.not_unique(table, rows, facts, day)
                hits.append((facts, rows[0] if len(rows) == 1 else None))
            self.hits_of[key] = hits
        return self.hits_of[key]

    def not_unique(self, table: Table, rows: list[Row], facts: Facts, day: date) -> None:
        """A gap or an overlap."""
        self.unsound.add((table.name, table.where))
        case = f"{joined(facts.items())}; on {day}"
        if not rows:
            what = f"no row of '{table.name}' holds for some facts"
            cure = "Add a row for them, or leave a condition out of a row that should hold"
            self.found.add(table.rows[0].where, what, cure, case)
            return
        lines = " and ".join(f"line {r.where.line}" for r in rows)
        what = f"more than one row of '{table.name}' holds ({lines})"
        self.found.add(rows[1].where, what, "Narrow the 'when' or the dates of one of them", case)

    def tables(self) -> None:
        """Gaps, overlaps, and rows that nothing reaches."""
        reached: dict[Place, bool] = {}
        rows: dict[Place, tuple[Table, Row]] = {}
        for item in self.book.items.values():
            used = {id(t): t for t in map(item.table_for, self.book.districts)}
            for table in tables_of(item):
                for row in table.rows:
                    rows.setdefault(row.where, (table, row))
                    reached.setdefault(row.where, False)
                if id(table) not in used:
                    continue
                for day in self.days:
                    for facts, row_hit in self.hits(table, day):
                        held = [row_hit] if row_hit else matching(table, facts, day)
                        for row in held:
                            reached[row.where] = True
        for where, (table, row) in rows.items():
            if not reached[where]:
                what = f"no facts, day or district lead to this row of '{table.name}'"
                cure = "Remove it, or correct its 'when' or its dates"
                self.found.add(where, f"{what} ({joined(readable(row))})", cure)

    def cases(
        self, item: Item, district: str, day: date, facts: Facts, hazard: str | None = None
    ) -> Iterator[Case]:
        """Every full set of facts about an item, followed to the row that decides."""
        table = item.table_for(district)
        carried = {c: facts[c] for c, known in self.values(table).items() if facts.get(c) in known}
        for combination, row in self.hits(table, day):
            if row is None or any(combination[c] != v for c, v in carried.items()):
                continue
            every = {**facts, **combination}
            kind = (hazard or item.hazard or table.hazard) if not row.safe_because else None
            if row.see:
                seen = self.book.items[row.see]
                self.handed_over(row, combination, seen, district)
                yield from self.cases(seen, district, day, every, kind)
            else:
                yield Case(item, table, row, every, kind)

    def handed_over(self, row: Row, facts: Facts, seen: Item, district: str) -> None:
        """Values that the next table does not know, so that they could not be an answer."""
        known = self.values(seen.table_for(district))
        for c, value in facts.items():
            if c in known and value not in known[c]:
                what = f"'{seen.id}' does not know '{c}: {value}', which this row hands over"
                self.found.add(
                    row.where, what, f"Add '{value}' under 'ask' there, or give it a row"
                )

    def combinations(self) -> None:
        """Where every combination goes, in every district, on every day."""
        for district in self.book.districts:
            for day in self.days:
                for item in self.book.items.values():
                    assumable = self.assumable(item, district)
                    starts = self.stated.setdefault((district, item.id, day), {frozenset()})
                    for case in self.cases(item, district, day, {}):
                        self.count += 1
                        self.one(case, district, day)
                        if assumable:
                            known = {(c, v) for c, v in case.facts.items() if c in assumable}
                            starts.add(frozenset(known))

    def ahead(self, item: Item, district: str) -> tuple[Table, ...]:
        """The item's table in a district, and those its rows point on to."""
        key = item.id, district
        if key not in self.tables_ahead:
            names = [item.id]
            for name in names:
                rows = self.book.items[name].table_for(district).rows
                names += [r.see for r in rows if r.see and r.see not in names]
            items = (self.book.items[name] for name in names)
            self.tables_ahead[key] = tuple(i.table_for(district) for i in items)
        return self.tables_ahead[key]

    def assumable(self, item: Item, district: str) -> frozenset[str]:
        """Conditions taken as given on the way from an item, and never asked."""
        tables = self.ahead(item, district)
        asked = {c for t in tables for c in t.ask}
        return frozenset(c for t in tables for c in t.assume) - asked

    def alike(self, item: Item, district: str, day: date) -> tuple[frozenset[Place], Places]:
        """All that a day changes for an item: the rows that hold and where they lead."""
        rows = [r for t in self.ahead(item, district) for r in t.rows if r.period.holds(day)]
        goes = {g for r in rows for g in (r.goes, *r.alternatives) if g}
        places = frozenset(place(self.book, district, g, day) for g in goes)
        return frozenset(r.where for r in rows), places

    def one(self, case: Case, district: str, day: date) -> None:
        """What one row does in a district on a day. Each is looked at once."""
        row, item = case.row, case.item
        key = (item.id, row.where, district, day, case.hazard)
        if key in self.seen:
            return
        self.seen.add(key)
        told = f"{district} on {day}"
        decision = outcome(self.book, item, case.table, row, district, day, case.facts, case.facts)
        codes = []
        for goes in (str(row.goes), *row.alternatives):
            code = place(self.book, district, goes, day)[0]
            codes.append(code)
            self.container(row, goes, district, day)
            kind = self.book.destinations[code].kind if code in self.book.destinations else "bin"
            if case.hazard and kind == "bin":
                what = f"'{item.id}' is a hazard ({case.hazard}) and goes to the bin '{goes}'"
                cure = "Send it to no bin, or say with 'safe_because' why it is safe in this case"
                self.found.add(row.where, what, cure, told)
        if decision.container is None and names_container(row, case.table):
            what = "'{container}' is filled with nothing, as there is no container"
            self.found.add(row.where, what, "Name the place in words", told)
        self.length(decision, row.where, told)
        for n in range(1, len(codes)):
            self.length(
                without(self.book, decision, frozenset(codes[:n]), district, day), row.where, told
            )

    def container(self, row: Row, goes: str, district: str, day: date) -> None:
        """A stream, a bin or a bag that the district does not have that day."""
        book = self.book
        if goes not in book.streams and book.destinations[goes].kind not in ("bin", "bag"):
            return
        if book.container(district, goes, day) is None:
            what = f"nothing in {district} takes '{goes}' that day"
            cure = (
                f"Give the row other dates, give {district} its own rows under 'districts', "
                f"or add '{goes}' to a container of {district}"
            )
            self.found.add(row.where, what, cure, f"{district} on {day}")

    def length(self, decision: Decision, where: Place, case: str) -> None:
        """Whether an answer fits two text messages. Equal answers are read once."""
        codes = (decision.destination, *decision.alternatives)
        if self.short_form is None or any(c not in self.book.destinations for c in codes):
            return
        facts = decision.facts
        key = (
            decision.item,
            decision.destination,
            decision.container,
            decision.alternatives,
            decision.prepare,
            decision.why,
            decision.caution,
            tuple((c, facts.get(c)) for c in decision.assumed),
            bool(decision.unsettled),
        )
        if key not in self.read:
            self.read.add(key)
            fits(where, self.short_form(decision), "the answer", self.found, case)

    def questions(self) -> None:
        """Every way of answering the questions, whatever has been said unasked.

        Days that change nothing for an item are followed once. Items that lead to a stream without
        a container are left out: `one` has told of it.
        """
        done = set()
        for (district, name, day), starts in self.stated.items():
            item = self.book.items[name]
            if not any((*t.ask, *t.assume) for t in self.ahead(item, district)):
                continue
            rows, places = self.alike(item, district, day)
            if any(code not in self.book.destinations for code, _, _ in places):
                continue
            day_key = district, name, rows, places
            for stated in starts:
                if (day_key, stated) not in done:
                    done.add((day_key, stated))
                    self.walk(item, district, day, dict(stated), ())

    def walk(
        self, item: Item, district: str, day: date, facts: dict[str, str], asked: tuple[str, ...]
    ) -> None:
        """The answer to some facts, or its questions answered in every way."""
        self.walks += 1
        case = f"{district} on {day}" + (f", {joined(facts.items())}" if facts else "")
        try:
            step = decide(self.book, district, day, item.id, facts)
        except RuleGap:
            return
        if isinstance(step, Decision):
            self.length(step, item.where, case)
            return
        self.cautious(item, district, day, facts, case)
        if len(asked) == QUESTIONS:
            order = ", ".join((*asked, step.condition))
            what = f"'{item.id}' may ask {QUESTIONS + 1} questions: {order}"
            cure = "Move a condition under 'assume', or split the item in two"
            self.found.add(item.where, what, cure, case)
            return
        for value in step.values:
            self.walk(
                item, district, day, {**facts, step.condition: value}, (*asked, step.condition)
            )

    def cautious(self, item: Item, district: str, day: date, facts: Facts, case: str) -> None:
        """The answer to somebody who cannot tell."""
        decision = decide_cautiously(self.book, district, day, item.id, facts)
        self.length(decision, item.where, case)
        goes = self.book.destinations.get(decision.destination)
        if item.hazard and (goes is None or goes.kind == "bin"):
            what = (
                f"'{item.id}' is a hazard ({item.hazard}), and in doubt goes to the bin "
                f"'{decision.destination}'"
            )
            self.found.add(item.where, what, "Name the safe values under 'cautious'", case)


def readable(row: Row) -> Iterator[tuple[str, str]]:
    """A row's conditions as a person reads them."""
    return ((c, " or ".join(sorted(v))) for c, v in row.when.items())


def names_container(row: Row, table: Table) -> bool:
    """Whether a text of a row names the container."""
    texts = (
        row.why or table.why,
        row.caution or table.caution,
        *(row.prepare or table.prepare or ()),
    )
    return any("{container}" in (t or "") for t in texts)
