"""From the things a message names to what the rules say of each."""

from __future__ import annotations

from datetime import date

from actions.reply import Answered, Asked
from actions.state import Thing
from actions.understanding import Named, Understanding
from rules import Decision, Question, decide, unknown
from rules.model import DISTRICT, Book


def look_up(book: Book, thing: Thing) -> Decision | Question:
    """What the rules say of a thing as far as it is known."""
    if thing.item is None or thing.item not in book.items:
        return unknown(book, thing.district, thing.day, thing.sign)
    return decide(
        book,
        thing.district,
        thing.day,
        thing.item,
        thing.facts,
        frozenset(thing.ruled_out),
        frozenset(thing.given_up),
    )


def named_things(book: Book, u: Understanding, district: str | None, on: date) -> list[Thing]:
    """The things of a message in the order they were named, marks read with what bears them."""

    def thing(item: str | None, said: str, facts: dict[str, str], sign: str | None = None) -> Thing:
        return Thing(item, said, on.isoformat(), district, facts, u.declines, sign=sign)

    found: list[tuple[int, Thing]] = []
    marks = list(u.marks)
    for named in u.things:
        if named.item not in book.items:
            continue
        facts = dict(named.facts)
        item: str | None = named.item
        said = named.said
        if marks:
            mark = nearest_mark(marks, named)
            described = book.items[str(mark.item)].mark
            marks.remove(mark)
            if described and (described.overrides or (named.generic and form_of(book, mark, u))):
                item = mark.item
                facts.update(form_of(book, mark, u))
            elif described:
                facts = {**described.gives, **facts}
        sign = sign_on(book, named, u)
        if sign:
            item, facts = None, {}
        found.append((named.start, thing(item, said, facts, sign)))
    for mark in marks:
        found.append((mark.start, thing(mark.item, mark.said, form_of(book, mark, u))))
    return [t for _, t in sorted(found, key=lambda pair: pair[0])]


def sign_on(book: Book, named: Named, u: Understanding) -> str | None:
    """The hazard sign in the description of a harmless thing ("a bottle of something corrosive").

    A thing with such a sign is no longer what its rule speaks of. A sign belongs to the thing
    nearest to it.
    """
    item = book.items[str(named.item)]
    if item.hazard or any(r.see and book.items[r.see].hazard for r in item.table.rows):
        return None
    for sign, start in u.signs:
        if any(n.start <= start < n.end for n in u.things):
            continue
        nearest = min(u.things, key=lambda n: abs(n.start - start))
        if nearest is named:
            return sign
    return None


def nearest_mark(marks: list[Named], named: Named) -> Named:
    """The mark that stands closest to a thing's name."""
    return min(marks, key=lambda m: abs(m.start - named.start))


def form_of(book: Book, mark: Named, u: Understanding) -> dict[str, str]:
    """The conditions of a mark's own table that the message states, in a name or beside it."""
    table = book.items[str(mark.item)].table
    return {f.condition: f.value for f in u.facts if f.condition in table.ask}


def unknown_things(u: Understanding, district: str | None, on: date) -> list[Thing]:
    """The things of a message that no rule knows, with the hazard sign in their description."""
    sign = u.signs[0][0] if u.signs else None
    return [
        Thing(item=None, said=n.said, on=on.isoformat(), district=district, sign=sign)
        for n in u.unknown
    ]


def heads_of(book: Book, thing: Thing) -> list[str]:
    """What a thing is at bottom, by its last words: "coat hanger" and "hanger" of a plastic one."""
    names = [thing.said.lower()]
    if thing.item:
        names.append(book.items[thing.item].name)
    found = []
    for name in names:
        words = name.split()
        for size in (2, 1):
            tail = words[-size:]
            for last in (tail[-1], *singles(tail[-1])):
                found.append(" ".join([*tail[:-1], last]))
    return list(dict.fromkeys(found))


def singles(words: str) -> list[str]:
    """What words may be in the singular: "crackers" are perhaps many a cracker."""
    found = [words.removesuffix("s"), words.removesuffix("es")]
    if words.endswith("ies"):
        found.append(words[:-3] + "y")
    return [f for f in dict.fromkeys(found) if f != words]


def answered(
    book: Book, things: list[Thing]
) -> tuple[list[Answered], list[tuple[Thing, Question]]]:
    """Things the rules decide, and things with a question open, each in order."""
    done, open_ = [], []
    for thing in things:
        result = look_up(book, thing)
        if isinstance(result, Decision):
            done.append(Answered(thing, result))
        else:
            open_.append((thing, result))
    return done, open_


def asked(thing: Thing, question: Question, again: bool = False) -> Asked:
    """A question about a thing, as the reply puts it."""
    return Asked(thing, question.condition, question.values, again)


def learns(book: Book, thing: Thing, facts: dict[str, str]) -> dict[str, str]:
    """The facts of a reply that a thing's own question waits for or its rules use."""
    if thing.item is None:
        return {}
    wanted = book.conditions_that_matter(thing.item)
    return {c: v for c, v in facts.items() if c in wanted or c == DISTRICT}
