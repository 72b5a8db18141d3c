"""What the pages of the review list show, as plain data for their templates."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from actions.phrases import capital, phrase
from bot.figures.words import channel as channel_name
from bot.review import accept
from bot.review.entry import WHYS, Entry
from bot.review.listing import LATER, ORDERS, STATES, Filter, Group, bare, wanted
from bot.review.nearest import answers, nearest_in, topics
from bot.review.store import Decision as Decided
from rules import Decision, decide
from rules.model import Book, Place

HOME = "/officer/review"
PER_PAGE = 40
WORDS = 4
"""Different words of a group that the list shows."""
EXAMPLES = 30
"""Questions of a group that its page shows, the latest."""


@dataclass(frozen=True, slots=True)
class Line:
    """A group as the list shows it."""

    group: Group
    words: list[str]
    more: int
    near: list[str]
    places: list[str]
    channels: list[str]
    hazard: str


def address(wish: Filter, **other: Any) -> str:
    """The list's address for a filter with something else in it."""
    told: dict[str, Any] = {
        "why": wish.why,
        "channel": wish.channel,
        "district": wish.district,
        "from": wish.start,
        "to": wish.end,
        "state": wish.state or "any",
        "order": wish.order,
        **other,
    }
    return f"{HOME}?{urlencode({k: v for k, v in told.items() if v})}"


def list_context(groups: Sequence[Group], wish: Filter, book: Book, page: int) -> dict[str, Any]:
    """The list, one page of it, with its filters and counts."""
    states = Counter(g.state for g in groups)
    found = wanted(groups, wish)
    last = max(1, -(-len(found) // PER_PAGE))
    page = min(page, last)
    shown = found[(page - 1) * PER_PAGE : page * PER_PAGE]
    channels = sorted({e.channel for g in groups for e in g.entries})
    return {
        "lines": [line(g, book) for g in shown],
        "found": len(found),
        "asked": sum(g.asked for g in found),
        "wish": wish,
        "states": [(s, label, states[s], address(wish, state=s)) for s, label in STATES.items()],
        "state_name": STATES.get(wish.state or "", "Everything"),
        "whys": WHYS,
        "channels": [(c, channel_name(c)) for c in channels],
        "districts": [*((d.id, d.name) for d in book.districts.values()), ("none", "Not known")],
        "orders": ORDERS,
        "page": page,
        "pages": last,
        "address": lambda number: address(wish, page=number),
        "first_rank": (page - 1) * PER_PAGE + 1,
        "filtered": wish != Filter(state=wish.state, order=wish.order),
    }


def line(group: Group, book: Book) -> Line:
    """A group for the list."""
    words = list(dict.fromkeys(bare(w) for w, _ in group.words()))
    near = nearest_in(book).of(group.forms, 3) if group.kind == "words" else []
    return Line(
        group,
        words[:WORDS],
        len(words) - WORDS,
        [book.items[n.item].name for n in near],
        places(group, book),
        [f"{channel_name(c)} ({n})" for c, n in group.counts("channel")],
        hazard_name(group, book),
    )


def hazard_name(group: Group, book: Book) -> str:
    """The hazard of a group in a word or two."""
    if group.sign in book.signs:
        return str(group.sign).replace("_", " ")
    return group.hazard or ""


def places(group: Group, book: Book) -> list[str]:
    """How often in each district."""
    return [
        f"{book.districts[d].name if d in book.districts else 'no district'} ({n})"
        for d, n in group.counts("district")
    ]


def group_context(group: Group, history: Iterable[Decided], book: Book) -> dict[str, Any]:
    """All that a group's page shows."""
    words = group.kind == "words"
    near = nearest_in(book).of(group.forms) if words else []
    sign = book.signs.get(group.sign or "")
    return {
        "group": group,
        "heading": f"‘{group.title}’" if words else capital(group.title),
        "state_name": STATES[group.state],
        "whys": [f"{WHYS[w]} ({n})" for w, n in group.whys],
        "why_names": WHYS,
        "places": places(group, book),
        "channels": [f"{channel_name(c)} ({n})" for c, n in group.counts("channel")],
        "words": group.words(),
        "examples": [example(e, group, book) for e in newest(group.entries)],
        "left_off": max(0, group.asked - EXAMPLES),
        "near": [
            {
                "item": n.item,
                "name": book.items[n.item].name,
                "as": n.name if n.name != book.items[n.item].name else "",
                "because": n.because,
                "section": book.items[n.item].section,
                "hazard": bool(book.items[n.item].hazard),
                "answers": answers(book, n.item, date.today()),
                "link": link(book.items[n.item].where),
            }
            for n in near
        ],
        "topics": topics(book, [e.question for e in group.entries if "unclear" in e.whys][:20]),
        "sign": sign,
        "goes": book.destinations[sign.goes].phrase if sign else "",
        "hazard": hazard_name(group, book),
        "rules": rules_of(group, book) if not words else [],
        "names": "\n".join(accept.suggested(group) or [group.title]) if words else "",
        "items": [(i.id, i.name) for i in book.items.values()] if words else [],
        "history": list(history),
        "later_days": LATER.days,
        "chosen": "",
        "other": "",
        "because": "",
        "list": HOME,
    }


def newest(entries: Sequence[Entry]) -> list[Entry]:
    """The latest entries, the last first."""
    return sorted(entries, key=lambda e: e.at, reverse=True)[:EXAMPLES]


def example(e: Entry, group: Group, book: Book) -> dict[str, Any]:
    """One question for the page."""
    district = book.districts[e.district].name if e.district in book.districts else "Not known"
    mended = group.mended.get(e.id)
    return {
        "entry": e,
        "channel": channel_name(e.channel),
        "district": district,
        "why": ", ".join(WHYS[w] for w in e.whys),
        "understood": understood(e, book),
        "place": accept.rule_place(book, e.rule),
        "mended": book.items[mended].name if mended in book.items else "",
        "today": otherwise(e, book),
    }


def otherwise(e: Entry, book: Book) -> str:
    """Where today's rules send a known thing, if that is another place than the answer said."""
    if e.item not in book.items or e.destination is None or e.condition is not None:
        return ""
    district = e.district if e.district in book.districts else None
    found = decide(book, district, date.today(), str(e.item), e.facts)
    if not isinstance(found, Decision) or found.destination == e.destination:
        return ""
    return phrase(book, found)


def understood(e: Entry, book: Book) -> str:
    """What the assistant made of a question, in plain words."""
    goes = place_of(e, book)
    if "failed" in e.whys:
        return "The program failed, and the resident was told so."
    if e.condition is not None and e.item in book.items:
        name = book.items[str(e.item)].name
        if "unanswered" in e.whys:
            return f"Asked about {name}; no answer came."
        return f"{capital(name)}, without an answer to the question: {goes}, to be careful."
    if "unclear" in e.whys:
        return "Nothing to go by."
    if e.item is None:
        return f"‘{bare(e.said)}’: {goes}, to be careful." if goes else "Nothing to go by."
    name = book.items[e.item].name if e.item in book.items else e.item
    facts = ", ".join(
        book.conditions[c].values[v].label.lower()
        for c, v in e.facts.items()
        if c in book.conditions and v in book.conditions[c].values
    )
    return f"{capital(name)}{f' ({facts})' if facts else ''}: {goes or 'no answer yet'}."


def place_of(e: Entry, book: Book) -> str:
    """Where the answer said it goes."""
    if e.container:
        return e.container
    code = e.destination or ""
    return book.destinations[code].name.lower() if code in book.destinations else code


def rules_of(group: Group, book: Book) -> list[dict[str, Any]]:
    """The rules behind the answers of a group, each with where it stands today."""
    found = []
    item = book.items.get(group.item or "")
    for rule, times in Counter(e.rule for e in group.entries if e.rule).most_common(6):
        place = accept.rule_place(book, rule)
        found.append({"told": rule, "times": times, "place": place, "link": link(place)})
    if item is not None:
        told = f"The item {item.name}"
        found.append({"told": told, "times": 0, "place": item.where, "link": link(item.where)})
    asked = book.conditions.get(group.condition or "")
    if asked is not None:
        told = f"Its question, ‘{asked.question}’".replace("{item}", item.name if item else "it")
        found.append({"told": told, "times": 0, "place": asked.where, "link": link(asked.where)})
    return found


def link(place: Place | None) -> str:
    """The line of a rule file in its editor."""
    return f"/officer/rules/{place.file}#L{place.line}" if place else ""


def item_context(group: Group, new: accept.NewItem | None, book: Book) -> dict[str, Any]:
    """The form for a new item, filled in as far as the group tells."""
    near = nearest_in(book).of(group.forms, 1) if group.kind == "words" else []
    sign = book.signs.get(group.sign or "")
    if new is None:
        names = accept.suggested(group) or [group.title]
        new = accept.NewItem(
            name=names[0],
            also=tuple(names[1:]),
            file=book.items[near[0].item].where.file if near else "",
            goes=sign.goes if sign else "",
            hazard=sign.danger or "" if sign else "",
        )
    return {
        "group": group,
        "new": new,
        "sign": sign,
        "goes": book.destinations[sign.goes].phrase if sign else "",
        "sections": accept.sections(book),
        "streams": list(book.streams.values()),
        "others": [d for d in book.destinations.values() if d.kind in ("place", "service")],
        "dangers": list(book.dangers.values()),
        "items": [(i.id, i.name) for i in book.items.values()],
        "list": HOME,
    }
