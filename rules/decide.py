"""From an item and what is known of it to one outcome, or to the one question to ask next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from itertools import product
from types import MappingProxyType

from rules.model import DISTRICT, Book, Item, Row, Table

Facts = Mapping[str, str]

GENERAL = "general"
"""The kind of danger that stands for one nobody named."""


@dataclass(frozen=True, slots=True)
class Decision:
    """Where a thing goes.

    `item` is the rule that decided (another item's, where a row points on), `None` for a thing the
    rules do not know. `container` is what the district calls it, `None` where there is none or
    the district is not known. `facts` are the conditions that counted, `assumed` those of them
    that nobody stated. `unsettled` names the conditions a cautious answer did without.
    """

    item: str | None
    destination: str
    container: str | None
    alternatives: tuple[str, ...]
    prepare: tuple[str, ...]
    why: str
    caution: str | None
    rule: str
    source: str
    facts: Facts
    assumed: tuple[str, ...] = ()
    unsettled: tuple[str, ...] = ()
    district: str | None = None
    stream: str | None = None


@dataclass(frozen=True, slots=True)
class Question:
    """The condition to ask about next: one of an item's, or `district`."""

    item: str
    condition: str
    values: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Leaf:
    """An outcome and the answers to open questions that lead to it."""

    answers: Facts
    decision: Decision


class RuleGap(LookupError):
    """A combination with no row, or with more than one. `check` proves that there is none."""


def matching(table: Table, facts: Facts, day: date) -> list[Row]:
    """The rows of a table that hold for a full set of facts on a day."""
    return [
        row
        for row in table.rows
        if row.period.holds(day) and all(facts.get(c) in values for c, values in row.when.items())
    ]


def relevant(book: Book, table: Table, facts: Facts) -> dict[str, str]:
    """The stated facts that a table knows."""
    known = {**table.ask, **{c: tuple(book.conditions[c].values) for c in table.assume}}
    return {c: facts[c] for c, values in known.items() if facts.get(c) in values}


def resolve(
    book: Book, item: Item, district: str, day: date, facts: Facts, ruled_out: frozenset[str]
) -> Iterator[Leaf]:
    """Every outcome still possible in one district, with the answers that lead to it."""
    table = item.table_for(district)
    stated = relevant(book, table, facts)
    full = {**table.assume, **stated}
    open_ = [c for c in table.ask if c not in full]
    for combination in product(*(table.ask[c] for c in open_)):
        answers = dict(zip(open_, combination, strict=True))
        every = {**full, **answers}
        rows = matching(table, every, day)
        if len(rows) != 1:
            raise RuleGap(f"{item.id} in {district} on {day}: {len(rows)} rows for {every}")
        row = rows[0]
        if row.see:
            assumed = unstated(book, table, row, every, stated, day)
            seen = book.items[row.see]
            for leaf in resolve(book, seen, district, day, {**facts, **answers}, ruled_out):
                told = leaf.decision
                used = {c: v for c, v in every.items() if c not in table.assume or c in stated}
                taken = {c: every[c] for c in assumed if c not in told.facts}
                joined = MappingProxyType({**used, **taken, **told.facts})
                both = (*taken, *told.assumed)
                yield Leaf({**answers, **leaf.answers}, replace(told, facts=joined, assumed=both))
            continue
        decision = outcome(book, item, table, row, district, day, every, stated)
        yield Leaf(answers, without(book, decision, ruled_out, district, day))


def outcome(
    book: Book,
    item: Item,
    table: Table,
    row: Row,
    district: str,
    day: date,
    facts: Facts,
    stated: Facts,
) -> Decision:
    """What a row says, with the gaps filled from its table and the names from the district."""
    assumed = unstated(book, table, row, facts, stated, day)
    code, name, stream = place(book, district, str(row.goes), day)
    alternatives = tuple(place(book, district, a, day)[0] for a in row.alternatives)
    hazard = item.hazard or table.hazard
    caution = row.caution or table.caution
    if caution is None and hazard and not row.safe_because:
        caution = book.dangers[hazard].never
    fill = {"item": item.name, "container": name or ""}
    number = table.rows.index(row) + 1
    reasons = [t for t in (table.because, row.why or table.why) if t]
    return Decision(
        item=item.id,
        destination=code,
        container=name,
        alternatives=tuple(dict.fromkeys(a for a in alternatives if a != code)),
        prepare=tuple(filled(t, fill) for t in (row.prepare or table.prepare or ())),
        why=filled(" ".join(reasons), fill),
        caution=filled(caution, fill) if caution else None,
        rule=f"{table.where.file}: {table.name}, row {number}",
        source=row.source or table.source or "",
        facts=MappingProxyType(
            {c: v for c, v in facts.items() if c in stated or c in table.ask or c in assumed}
        ),
        assumed=assumed,
        district=district,
        stream=stream,
    )


def filled(text: str, words: Mapping[str, str]) -> str:
    """A text with its placeholders filled; braces around anything else stay as they are."""
    for name, word in words.items():
        text = text.replace(f"{{{name}}}", word)
    return text


def unstated(
    book: Book, table: Table, row: Row, facts: Facts, stated: Facts, day: date
) -> tuple[str, ...]:
    """The conditions taken as given that would lead somewhere else if they were not so."""
    return tuple(
        c for c in table.assume if c not in stated and sways(book, table, row, c, facts, day)
    )


def sways(book: Book, table: Table, row: Row, condition: str, facts: Facts, day: date) -> bool:
    """Whether another value of an assumed condition would lead somewhere else."""
    for value in book.conditions[condition].values:
        other = matching(table, {**facts, condition: value}, day)
        if other and (other[0].goes, other[0].see) != (row.goes, row.see):
            return True
    return False


def place(book: Book, district: str, goes: str, day: date) -> tuple[str, str | None, str | None]:
    """Code, container name and stream for what a row says in `goes`.

    A stream without a container that day keeps its own name as the code; `check` refuses that.
    """
    container = book.container(district, goes, day)
    if goes in book.streams:
        return (container.code if container else goes, container.name if container else None, goes)
    return goes, container.name if container else None, None


def without(
    book: Book, decision: Decision, ruled_out: frozenset[str], district: str, day: date
) -> Decision:
    """The decision when some destinations will not do for this resident."""
    if decision.destination not in ruled_out:
        return decision
    left = [a for a in decision.alternatives if a not in ruled_out]
    if not left:
        return decision
    container = book.container(district, left[0], day)
    return replace(
        decision,
        destination=left[0],
        container=container.name if container else None,
        alternatives=tuple(left[1:]),
        rule=f"{decision.rule}, next best",
    )


def leaves(
    book: Book, district: str | None, day: date, item: str, facts: Facts, ruled_out: frozenset[str]
) -> list[Leaf]:
    """Every outcome still possible, the district being one of the open answers if unknown."""
    thing = book.items[item]
    day = max(day, book.scheme.starts)
    if district is not None:
        return list(resolve(book, thing, district, day, facts, ruled_out))
    found = []
    for name in book.districts:
        for leaf in resolve(book, thing, name, day, facts, ruled_out):
            found.append(Leaf({DISTRICT: name, **leaf.answers}, leaf.decision))
    return found


def settled(possible: list[Leaf]) -> bool:
    """Whether all that is still possible has one destination."""
    return len({leaf.decision.destination for leaf in possible}) == 1


def depth(possible: list[Leaf], skip: frozenset[str]) -> tuple[int, int]:
    """Questions still needed: the most in any case, and the sum over cases."""
    if settled(possible):
        return 0, 0
    best: tuple[int, int] | None = None
    for condition in candidates(possible, skip):
        parts = split(possible, condition)
        below = [depth(part, skip | {condition}) for part in parts.values()]
        cost = 1 + max(d for d, _ in below), len(possible) + sum(s for _, s in below)
        best = min(best, cost) if best else cost
    return best or (0, 0)


def candidates(possible: list[Leaf], skip: frozenset[str]) -> list[str]:
    """Conditions that can be asked now: open in every case still possible."""
    shared = [c for c in possible[0].answers if all(c in leaf.answers for leaf in possible)]
    return [c for c in shared if c not in skip]


def split(possible: list[Leaf], condition: str) -> dict[str, list[Leaf]]:
    """What is possible after each answer to a question."""
    parts: dict[str, list[Leaf]] = {}
    for leaf in possible:
        parts.setdefault(leaf.answers[condition], []).append(leaf)
    return parts


def decide(
    book: Book,
    district: str | None,
    day: date,
    item: str,
    facts: Facts | None = None,
    ruled_out: frozenset[str] = frozenset(),
    given_up: frozenset[str] = frozenset(),
) -> Decision | Question:
    """One outcome, or the one question to ask next.

    It asks only while the open conditions can still change the destination, and asks first what
    leaves the fewest follow-ups. `facts` maps conditions to values; those the item does not know
    are passed over. `ruled_out` are destination codes that will not do for this resident.
    Conditions in `given_up` are not asked again: the answer is then the cautious one.
    `day` before the scheme's start counts as its first day.

    Raises `KeyError` for an unknown district or item, `RuleGap` for a book that `check` refuses.
    """
    possible = leaves(book, district, day, item, facts or {}, ruled_out)
    if settled(possible):
        return shown(possible, district)
    options = {c: split(possible, c) for c in candidates(possible, given_up)}
    if not options:
        return decide_cautiously(book, district, day, item, facts, ruled_out)

    def cost(condition: str) -> tuple[int, int]:
        below = [depth(part, given_up | {condition}) for part in options[condition].values()]
        return max(d for d, _ in below), sum(s for _, s in below)

    condition = min(options, key=cost)
    return Question(item, condition, tuple(options[condition]))


def shown(possible: list[Leaf], district: str | None) -> Decision:
    """One decision for cases that share a destination: the one with most to warn of.

    What differs between the cases is left out: an unknown district's container name, and the
    values of conditions nobody stated.
    """
    best = next((x for x in possible if x.decision.caution), possible[0])
    decision = best.decision
    open_ = set(best.answers) - {DISTRICT}
    if open_:
        facts = {c: v for c, v in decision.facts.items() if c not in open_}
        decision = replace(decision, facts=MappingProxyType(facts))
    if district is None:
        names = {x.decision.container for x in possible}
        shared = set.intersection(*(set(x.decision.alternatives) for x in possible))
        decision = replace(
            decision,
            container=decision.container if len(names) == 1 else None,
            alternatives=tuple(a for a in decision.alternatives if a in shared),
            district=None,
        )
    return decision


def decide_cautiously(
    book: Book,
    district: str | None,
    day: date,
    item: str,
    facts: Facts | None = None,
    ruled_out: frozenset[str] = frozenset(),
) -> Decision:
    """The safest outcome still possible, for a condition that stays unsettled (policy 7).

    For a hazard that is the one that takes most care, short of an emergency; for anything else
    the one that spoils nothing. Where each would spoil another's container, because only two
    recycling containers are left, or one for each district, it is the fallback's.
    Raises as `decide`.
    """
    facts = facts or {}
    thing = book.items[item]
    tables = [thing.table, *thing.overrides.values()]
    hint = {k: v for t in tables for k, v in t.cautious.items() if k not in facts}
    open_ = leaves(book, district, day, item, facts, ruled_out)
    asked = tuple(dict.fromkeys(c for x in open_ for c in x.answers))
    possible = leaves(book, district, day, item, {**facts, **hint}, ruled_out) if hint else open_
    live = [x for x in possible if x.decision.destination != "emergency"] or possible
    hazard = any(x.decision.item and book.items[x.decision.item].hazard for x in live)

    def rank(leaf: Leaf) -> int:
        goes = book.destinations[leaf.decision.destination]
        return -goes.care if hazard else goes.spoils

    best = min(live, key=rank)
    everywhere = [
        x
        for x in live
        if all(
            any(
                y.decision.destination == x.decision.destination
                for y in live
                if y.answers.get(DISTRICT) == d
            )
            for d in {y.answers.get(DISTRICT) for y in live}
        )
    ]
    if everywhere:
        best = min(everywhere, key=rank)
    if not hazard and (not everywhere or spoiling(book, best, live)):
        return replace(
            unknown(book, district, day),
            item=item,
            unsettled=asked,
            facts=MappingProxyType(dict(facts)),
        )
    decision = shown([best], district)
    return replace(decision, unsettled=asked)


def spoiling(book: Book, best: Leaf, live: list[Leaf]) -> bool:
    """Whether the best outcome is a bin that the thing would spoil if another outcome were true."""
    bins = {
        d
        for d in (x.decision.destination for x in live)
        if book.destinations[d].kind == "bin" and d != book.fallback.goes
    }
    return len(bins) > 1 and best.decision.destination in bins


def unknown(book: Book, district: str | None, day: date, sign: str | None = None) -> Decision:
    """The advice for a thing the rules do not know (policies 1 and 2).

    `sign` is the id of a hazard sign in its description, if there is one.
    """
    day = max(day, book.scheme.starts)
    if sign is not None:
        told = book.signs[sign]
        return Decision(
            item=None,
            destination=told.goes,
            container=None,
            alternatives=(),
            prepare=(),
            why=told.why,
            caution=told.caution,
            rule=f"{told.where.file}: {sign}",
            source=told.source,
            facts=MappingProxyType({}),
        )
    rule = book.fallback
    names = {place(book, d, rule.goes, day) for d in ([district] if district else book.districts)}
    code = min(code for code, _, _ in names)
    container = next(iter(names))[1] if len(names) == 1 else None
    return Decision(
        item=None,
        destination=code,
        container=container,
        alternatives=(),
        prepare=rule.prepare,
        why=rule.why,
        caution=None,
        rule=f"{rule.where.file}: fallback",
        source=rule.source,
        facts=MappingProxyType({}),
        district=district,
    )


def live_danger(book: Book, item: str | None, kind: str | None) -> Decision:
    """What to do about a danger that is happening now, whatever the thing (policy 2).

    `kind` is the kind of danger where it is known. It holds in every district on every day.
    """
    danger = book.dangers.get(kind or GENERAL, book.dangers[GENERAL])
    return Decision(
        item=item,
        destination="emergency",
        container=None,
        alternatives=(),
        prepare=danger.prepare,
        why=danger.emergency,
        caution=danger.never,
        rule=f"{danger.where.file}: {danger.id}, live danger",
        source=danger.source,
        facts=MappingProxyType({}),
    )
