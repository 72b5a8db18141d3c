"""The tick-boxes of a bin tag: what people wrongly put in a container, and where it goes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from datetime import date
from typing import Any

from actions.phrases import capital, phrase
from bot.publish.guide import TAG, guide_of, named
from bot.publish.lines import Line, lines_of, lower_first, plain_day, stated
from rules.model import Book, Container, Misplaced

WIDTH = 46
"""Characters of a line: about 9 point on a tag 10 cm wide. Common practice, no source."""
RULE = "_" * 24


def tags(book: Book, district: str, day: date) -> list[dict[str, Any]]:
    """A tag for each container of a district, with its tick-boxes."""
    return [
        {
            "container": box.name,
            "streams": [s for s, period in box.takes if period.holds(day)],
            "lines": [tick(book, box, *one) for one in misplaced(book, district, box, day)],
        }
        for box in book.districts[district].containers
        if box.period.holds(day)
    ]


def misplaced(
    book: Book, district: str, box: Container, day: date
) -> Iterator[tuple[Line, Misplaced]]:
    """What does not belong in a container, as the rules have it that day."""
    listed = guide_of(book).tags
    seen = set()
    for stream, period in box.takes:
        for wrong in listed.get(stream, ()) if period.holds(day) else ():
            for line in lines_of(book, wrong.item, district, day, wrong.facts):
                mark = line.item, tuple(line.when.items()), tuple(wrong.facts.items())
                spoilt = bool(wrong.facts and line.decision.prepare)
                astray = line.decision.container != box.name
                if line.since is None and (astray or spoilt) and mark not in seen:
                    seen.add(mark)
                    yield line, wrong


def tick(book: Book, box: Container, line: Line, wrong: Misplaced) -> dict[str, Any]:
    """One tick-box as plain data."""
    decision = line.decision
    return {
        "item": line.item,
        "facts": dict(wrong.facts),
        "when": {c: list(v) for c, v in line.when.items()},
        "what": what(book, line, wrong),
        "please": please(book, line, box),
        "until": line.until.isoformat() if line.until else None,
        "destination": decision.destination,
        "container": decision.container,
        "caution": decision.caution,
        "rule": decision.rule,
        "source": decision.source,
    }


def what(book: Book, line: Line, wrong: Misplaced) -> str:
    """The thing, and what is the matter with it."""
    told = [stated(book.conditions[c], v) for c, v in wrong.facts.items()]
    name = named(book, line)
    return f"{name}: {lower_first(', '.join(told))}" if told else name


def please(book: Book, line: Line, box: Container) -> str:
    """What to do with it instead, in a sentence or two.

    A thing that belongs in this very container has something the matter with it: the steps say
    what to do about that.
    """
    decision = line.decision
    if decision.container == box.name:
        return " ".join(decision.prepare)
    goes = book.destinations[decision.destination]
    many = book.items[line.item].plural
    it = "them" if many else "it"
    where = phrase(book, decision)
    if goes.kind in ("bin", "bag"):
        in_bag = goes.kind == "bag" and not where.startswith("in ")
        text = f"Please put {it} {'in a ' if in_bag else ''}{where}"
    elif goes.kind == "place":
        text = f"Please take {it} {where}"
    else:
        text = f"{'They go' if many else 'It goes'} {where}"
    return f"{text} until {plain_day(line.until)}." if line.until else f"{text}."


def text(book: Book, district: str, day: date) -> str:
    """All tags of a district as plain text, in lines that fit."""
    place = book.districts[district].name
    out = [f"BIN TAGS FOR {place.upper()}", f"As on {plain_day(day)}. Rules {book.version}.", ""]
    for tag in tags(book, district, day):
        names = " and ".join(dict.fromkeys(book.streams[s].name for s in tag["streams"]))
        out += ["=" * WIDTH, *wrapped(f"{capital(tag['container'])} ({names})"), "-" * WIDTH]
        out.append("Not in here:")
        for one in tag["lines"]:
            out += wrapped(f"{one['what']}.", "[ ] ", "    ")
            out += wrapped(one["please"], "    ", "    ")
        out += [f"[ ] Something else: {RULE}", ""]
        if TAG in book.topics:
            out += [*wrapped(book.topics[TAG].answer), ""]
        out += [*wrapped(f"Questions? Ring {book.scheme.phone}."), ""]
    return "\n".join(out) + "\n"


def wrapped(text: str, first: str = "", rest: str = "") -> list[str]:
    """A text in lines no wider than a tag."""
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest)
