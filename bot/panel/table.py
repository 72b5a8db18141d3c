"""The whole decision table of an item in a district on a day, as an agent sees it at a glance."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import product
from typing import Any

from actions.reply import Answered, Reply
from actions.spoken import spoken
from actions.state import Thing
from actions.wording import ask_text, assumptions, capital, phrase, render
from rules import Decision, decide
from rules.decide import decide_cautiously, leaves, matching
from rules.model import Book

Cells = dict[str, frozenset[str]]


@dataclass(slots=True)
class Line:
    """A row: for which values of which conditions, and one decision that stands for all of them.

    A condition that is not among the cells makes no difference.
    """

    cells: Cells
    decision: Decision


def paths(
    book: Book, item: str, district: str, day: date, facts: Mapping[str, str]
) -> Iterator[dict[str, str]]:
    """Every combination of the conditions an item's table, or one it points to, looks at."""
    table = book.items[item].table_for(district)
    known = {**table.ask, **{c: tuple(book.conditions[c].values) for c in table.assume}}
    open_ = [c for c in known if facts.get(c) not in known[c]]
    for combination in product(*(known[c] for c in open_)):
        every = {**facts, **dict(zip(open_, combination, strict=True))}
        (row,) = matching(table, every, day)
        if row.see:
            yield from paths(book, row.see, district, day, every)
        else:
            yield every


def usual(book: Book, item: str, district: str) -> dict[str, str]:
    """What is taken as given where nobody says otherwise, in an item's table and those it sees."""
    found: dict[str, str] = {}
    todo, seen = [item], set()
    while todo:
        name = todo.pop()
        if name in seen:
            continue
        seen.add(name)
        table = book.items[name].table_for(district)
        found = {**table.assume, **found}
        todo += [r.see for r in table.rows if r.see]
    return found


def same(one: Decision, other: Decision) -> bool:
    """Whether two decisions say the same, whatever led to them."""
    return key(one) == key(other)


def key(d: Decision) -> tuple[Any, ...]:
    """All that a decision says."""
    return (
        d.item,
        d.destination,
        d.container,
        d.alternatives,
        d.prepare,
        d.why,
        d.caution,
        d.rule,
        d.source,
    )


def lines(book: Book, item: str, district: str, day: date) -> list[Line]:
    """The rows for every combination, merged as far as they say the same."""
    day = max(day, book.scheme.starts)
    found: list[Line] = []
    for facts in paths(book, item, district, day, {}):
        (leaf,) = leaves(book, district, day, item, facts, frozenset())
        found.append(Line({c: frozenset({v}) for c, v in facts.items()}, leaf.decision))
    return merged(found, domains(found))


def domains(found: list[Line]) -> dict[str, frozenset[str]]:
    """The values each condition has in any row."""
    out: dict[str, frozenset[str]] = {}
    for line in found:
        for c, values in line.cells.items():
            out[c] = out.get(c, frozenset()) | values
    return out


def merged(found: list[Line], whole: Mapping[str, frozenset[str]]) -> list[Line]:
    """Fewer rows that say the same: values side by side, and what makes no difference left out."""
    found = list(found)
    order = [c for c in whole]
    changed = True
    while changed:
        changed = False
        for condition in reversed(order):
            kept: dict[Any, Line] = {}
            for line in found:
                rest = frozenset((c, v) for c, v in line.cells.items() if c != condition)
                mark = condition in line.cells, rest, key(line.decision)
                if mark not in kept:
                    kept[mark] = Line(dict(line.cells), line.decision)
                elif condition in line.cells:
                    cells = kept[mark].cells
                    cells[condition] = cells[condition] | line.cells[condition]
                    changed = True
            for line in kept.values():
                if line.cells.get(condition) == whole[condition] and free(line, condition, found):
                    del line.cells[condition]
                    changed = True
            found = list(kept.values())
    return found


def free(line: Line, condition: str, found: list[Line]) -> bool:
    """Whether a condition may go from a row: all its values are in this one row."""
    return len(line.cells[condition]) > 1 or all(
        condition not in o.cells or o.cells[condition] == line.cells[condition] for o in found
    )


def unsettled(book: Book, item: str, district: str, day: date) -> Decision:
    """What holds while the caller has said nothing more: the rule's, or the careful answer."""
    found = decide(book, district, day, item)
    if isinstance(found, Decision):
        return found
    return decide_cautiously(book, district, day, item)


def outcome(book: Book, item: str, decision: Decision, day: date) -> dict[str, Any]:
    """A decision as the page shows it, with the words to read out and to send."""
    goes = book.destinations[decision.destination]
    thing = thing_of(book, item, decision, day)
    return {
        "destination": decision.destination,
        "kind": goes.kind,
        "name": "Call 999 now" if goes.kind == "emergency" else place_name(decision, goes.name),
        "container": decision.container,
        "phrase": phrase(book, decision),
        "prepare": list(decision.prepare),
        "why": decision.why,
        "caution": decision.caution,
        "alternatives": [
            {"destination": a, "name": other(book, decision, a, day)} for a in decision.alternatives
        ],
        "assumed": assumptions(book, decision),
        "careful": bool(decision.unsettled) or decision.item is None,
        "decided_by": decision.item,
        "rule": decision.rule,
        "source": decision.source,
        "facts": dict(decision.facts),
        "spoken": spoken(book, thing, decision),
        "sentence": spoken(book, thing, decision, cautioned=False),
        "short": render(book, reply_of(thing, decision, day), short=True).text,
        "long": render(book, reply_of(thing, decision, day)).text,
    }


def place_name(decision: Decision, otherwise: str) -> str:
    """What a place is called: its container's name where it has one."""
    return capital(decision.container or otherwise)


def thing_of(book: Book, item: str, decision: Decision, day: date) -> Thing:
    """The thing as the assistant would have it."""
    return Thing(item, book.items[item].name, day.isoformat(), decision.district)


def reply_of(thing: Thing, decision: Decision, day: date) -> Reply:
    """The assistant's reply with one decision."""
    if decision.destination == "emergency":
        kind = "emergency"
    else:
        kind = "cautious" if decision.unsettled or decision.item is None else "answer"
    return Reply(kind=kind, items=(Answered(thing, decision),), district=decision.district, on=day)


def other(book: Book, decision: Decision, code: str, day: date) -> str:
    """Another place, by its container's name where it has one."""
    container = book.container(decision.district, code, day) if decision.district else None
    return capital(container.name if container else book.destinations[code].name)


def table(book: Book, item: str, district: str, day: date) -> dict[str, Any]:
    """An item's table in one district, as plain data."""
    given = usual(book, item, district)
    rows = lines(book, item, district, day)
    order = list(dict.fromkeys(c for line in rows for c in line.cells))
    return {
        "rows": [
            {
                "when": [
                    cell(book, item, c, line.cells[c], given) for c in order if c in line.cells
                ],
                "outcome": outcome(book, item, line.decision, day),
            }
            for line in rows
        ],
        "unsettled": outcome(book, item, unsettled(book, item, district, day), day),
    }


def cell(
    book: Book, item: str, condition: str, values: frozenset[str], given: Mapping[str, str]
) -> dict[str, Any]:
    """One condition of a row: the question, the values it stands for, and whether one is usual."""
    asked = book.conditions[condition]
    listed = [v for v in asked.values if v in values]
    return {
        "condition": condition,
        "question": ask_text(book, condition, book.items[item].name, "short"),
        "values": listed,
        "labels": [asked.values[v].label for v in listed],
        "usual": given.get(condition) in values,
    }


def shown(book: Book, item: str, district: str | None, day: date) -> dict[str, Any]:
    """All a panel shows of an item: the caller's district first, or all, those alike together."""
    thing = book.items[item]
    groups: list[dict[str, Any]] = []
    names = list(book.districts)
    if district:
        names = [district, *(d for d in names if d != district)]
    for name in names:
        made = table(book, item, name, day)
        alike = next((g for g in groups if g["table"] == made), None)
        if alike:
            alike["districts"].append(name)
        else:
            groups.append({"districts": [name], "table": made})
    return {
        "item": item,
        "name": capital(thing.name),
        "also": list(thing.also),
        "section": thing.section,
        "hazard": capital(book.dangers[thing.hazard].name) if thing.hazard else None,
        "where": str(thing.where),
        "district": district,
        "on": day.isoformat(),
        "groups": groups,
        "changes": changes(book, item, district, day),
    }


def changes(book: Book, item: str, district: str | None, day: date) -> list[dict[str, Any]]:
    """The later days on which the answer changes, and to what, for the district or for each."""
    found = []
    for name in [district] if district else list(book.districts):
        before = signature(book, item, name, day)
        for turn in book.turning_days():
            if turn <= day:
                continue
            after = signature(book, item, name, turn)
            if after != before:
                told = [f"{a}, not {b[:1].lower()}{b[1:]}" for b, a in swapped(before, after)]
                found.append({"district": name, "on": turn.isoformat(), "told": told})
            before = after
    return sorted(found, key=lambda c: str(c["on"]))


Signature = dict[tuple[tuple[str, str], ...], tuple[str, Any]]


def signature(book: Book, item: str, district: str, day: date) -> Signature:
    """What each combination comes to: the place's name, and all else that is said."""
    day = max(day, book.scheme.starts)
    found: Signature = {}
    for facts in paths(book, item, district, day, {}):
        (leaf,) = leaves(book, district, day, item, facts, frozenset())
        decision = leaf.decision
        goes = book.destinations[decision.destination]
        name = place_name(decision, goes.name)
        mark = tuple(sorted(facts.items()))
        found[mark] = name, (decision.prepare, decision.caution, decision.alternatives)
    return found


def swapped(before: Signature, after: Signature) -> list[tuple[str, str]]:
    """The names of places that are others afterwards, each pair once."""
    pairs = [
        (before[k][0], after[k][0]) for k in after if k in before and before[k][0] != after[k][0]
    ]
    return list(dict.fromkeys(pairs))
