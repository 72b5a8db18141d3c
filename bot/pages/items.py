"""The list of all items and where each goes: for people without JavaScript, and for looking up."""

from __future__ import annotations

import html
from datetime import date
from itertools import groupby

from sanic import Blueprint, response
from sanic.exceptions import NotFound
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from actions.phrases import assumptions, capital, phrase
from rules.decide import Leaf, leaves
from rules.model import DISTRICT, Book, Item

pages = Blueprint("items")

CACHE: dict[tuple[str, str | None, date], str] = {}
"""Pages by rule book, district and day; a page takes most of a second to make."""
CACHED = 16

HEAD = """<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title} – {scheme}</title>
<meta name="color-scheme" content="light dark">
<link rel="icon" href="/web/mark.svg" type="image/svg+xml">
<link rel="stylesheet" href="/web/pages.css">
<link rel="stylesheet" href="/web/list.css">
</head>
<body>
<a class="skip" href="#list">Skip to the list</a>
<header><p>{scheme}</p><h1>{title}</h1></header>
<main>
"""
FOOT = """</main>
<footer>
<p>Not in the list? <a href="/">Ask in the chat</a>, or ring the contact centre on
<a href="tel:{dial}">{phone}</a>.</p>
<p>Rule book {version}, as on {day}.</p>
</footer>
</body>
</html>
"""


@pages.get("/items")
async def every(request: Request) -> HTTPResponse:
    """The list for all districts."""
    return shown(request, None)


@pages.get("/items/<district:str>")
async def one(request: Request, district: str) -> HTTPResponse:
    """The list for one district."""
    if district not in SHELF.current().districts:
        raise NotFound("There is no such page.")
    return shown(request, district)


def shown(request: Request, district: str | None) -> HTTPResponse:
    """The list as on the day named in the address, or today."""
    day = asked_day(request)
    book = SHELF.current()
    key = book.version, district, day
    page = CACHE.get(key)
    if page is None:
        while len(CACHE) >= CACHED:
            CACHE.pop(next(iter(CACHE)))
        page = CACHE[key] = listed(book, district, day)
    return response.html(page, headers={"cache-control": "no-cache"})


def asked_day(request: Request) -> date:
    """The day named in the address, or today."""
    try:
        return date.fromisoformat(request.args.get("on") or "")
    except ValueError:
        return date.today()


def listed(book: Book, district: str | None, day: date) -> str:
    """The page."""
    place = f"in {book.districts[district].name}" if district else "in each district"
    scheme = html.escape(book.scheme.name)
    title = html.escape(f"All items and where they go {place}")
    links = [(f"/items/{d}" if d else "/items", d) for d in (None, *book.districts)]
    out = [HEAD.format(title=title, scheme=scheme), choices(book, links, district, day)]
    out.append(body(book, district, day))
    phone = book.scheme.phone
    out.append(
        FOOT.format(
            phone=html.escape(phone),
            dial=html.escape(phone.replace(" ", "")),
            version=book.version,
            day=f"{day.day} {day:%B %Y}",
        )
    )
    return "\n".join(out)


def body(book: Book, district: str | None, day: date, heading: str = "h2") -> str:
    """The letters to jump to, and the entries under them."""
    ordered = sorted(book.items.values(), key=lambda i: i.name.lower())
    groups = [(k, list(g)) for k, g in groupby(ordered, lambda i: letter(i.name))]
    links = " ".join(f'<li><a href="#{anchor(k)}">{k}</a></li>' for k, _ in groups)
    out = [f'<nav aria-label="A to Z"><ul class="letters">{links}</ul></nav><div id="list">']
    for first, items in groups:
        out.append(f'<section aria-labelledby="{anchor(first)}">')
        out.append(f'<{heading} id="{anchor(first)}">{first}</{heading}><dl>')
        out += [entry(book, item, district, day) for item in items]
        out.append("</dl></section>")
    out.append("</div>")
    return "\n".join(out)


def letter(name: str) -> str:
    """The heading a name stands under."""
    first = name[:1].upper()
    return first if first.isalpha() else "0–9"


def anchor(heading: str) -> str:
    """The id of a heading."""
    return f"letter-{heading.lower().replace('–', '-')}"


def choices(
    book: Book, links: list[tuple[str, str | None]], district: str | None, day: date
) -> str:
    """Links to the lists for each district (`None`: all of them), the one shown marked."""
    rows = []
    for address, there in links:
        name = book.districts[there].name if there else "All districts"
        on = "" if day == date.today() else f"{'&amp;' if '?' in address else '?'}on={day}"
        mark = current(there == district)
        rows.append(f'<li><a href="{address}{on}"{mark}>{html.escape(name)}</a></li>')
    return f'<nav aria-label="Districts"><ul class="districts">{"".join(rows)}</ul></nav>'


def current(here: bool) -> str:
    """The mark of the link to the page itself."""
    return ' aria-current="page"' if here else ""


def entry(book: Book, item: Item, district: str | None, day: date) -> str:
    """One item: its name, the words people use for it, and where it goes."""
    also = (
        f' <span class="also">{html.escape(", ".join(item.also[:3]))}</span>' if item.also else ""
    )
    places = {d: outcomes(book, item, d, day) for d in ([district] if district else book.districts)}
    told = []
    if len(set(places.values())) == 1:
        told.append(f"<dd>{next(iter(places.values()))}</dd>")
    else:
        told += [
            f"<dd><b>{html.escape(book.districts[d].name)}:</b> {text}</dd>"
            for d, text in places.items()
        ]
    return f'<dt id="{item.id}">{html.escape(capital(item.name))}{also}</dt>{"".join(told)}'


def outcomes(book: Book, item: Item, district: str, day: date) -> str:
    """Where an item goes in a district: one place, or one for each case."""
    possible = leaves(book, district, day, item.id, {}, frozenset())
    cases: dict[str, list[Leaf]] = {}
    for leaf in possible:
        cases.setdefault(where(book, leaf), []).append(leaf)
    if len(cases) == 1:
        return html.escape(capital(next(iter(cases))))
    rows = "".join(
        f"<li>{html.escape(condition(book, found))}: {html.escape(text)}</li>"
        for text, found in cases.items()
    )
    return f"<ul>{rows}</ul>"


def where(book: Book, leaf: Leaf) -> str:
    """The words for one outcome."""
    decision = leaf.decision
    assumed = assumptions(book, decision)
    return phrase(book, decision) + (f" (if {assumed})" if assumed else "")


def condition(book: Book, found: list[Leaf]) -> str:
    """The cases that lead to one outcome, in the words of the answers to choose from.

    An answer that makes no difference among them is left out.
    """
    texts: list[str] = []
    for leaf in found:
        labels = [
            book.conditions[c].values[v].label
            for c, v in leaf.answers.items()
            if c != DISTRICT and not indifferent(book, c, found, leaf)
        ]
        text = ", ".join(
            [labels[0], *(x[:1].lower() + x[1:] for x in labels[1:])] if labels else []
        )
        if text and text not in texts:
            texts.append(text)
    return (
        " or ".join([texts[0], *(t[:1].lower() + t[1:] for t in texts[1:])])
        if texts
        else "Otherwise"
    )


def indifferent(book: Book, c: str, found: list[Leaf], leaf: Leaf) -> bool:
    """Whether every value of a condition, with the other answers the same, is among the cases."""
    rest = {k: v for k, v in leaf.answers.items() if k != c}
    values = {
        x.answers[c]
        for x in found
        if c in x.answers and {k: v for k, v in x.answers.items() if k != c} == rest
    }
    return len(values) > 1 and values == set(book.conditions[c].values)
