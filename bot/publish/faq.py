"""Questions and answers for the council's page, in the words of schema.org (FAQPage)."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

from actions.phrases import capital
from bot.publish.guide import guide_of
from bot.publish.lines import Line, case, lines_of, lower_first, said, span
from rules.model import Book


def faq(book: Book, district: str, day: date) -> dict[str, Any]:
    """A question and its answer for each common item.

    The shape is schema.org's, from memory: a FAQPage's mainEntity is Questions, each with an
    acceptedAnswer that is an Answer.
    """
    place = book.districts[district].name
    return {
        "@context": "https://schema.org",
        "@type": "FAQPage",
        "inLanguage": "en-GB",
        "name": f"What goes in which bin in {place}",
        "publisher": {"@type": "Organization", "name": book.scheme.name, "url": book.scheme.web},
        "mainEntity": [
            {
                "@type": "Question",
                "name": question(book, item, place),
                "acceptedAnswer": {
                    "@type": "Answer",
                    "text": answer(book, lines_of(book, item, district, day), day),
                },
            }
            for item in guide_of(book).common
        ],
    }


def question(book: Book, item: str, place: str) -> str:
    """The question about an item."""
    thing = book.items[item]
    asks = "where do they go" if thing.plural else "where does it go"
    return f"{capital(thing.name)}: {asks} in {place}?"


def answer(book: Book, lines: tuple[Line, ...], day: date) -> str:
    """All cases and spans of an item's answer, one paragraph to each."""
    return "\n".join(paragraph(book, line, day) for line in lines)


def paragraph(book: Book, line: Line, day: date) -> str:
    """One line's answer, led by its case and its days."""
    told = said(book, line, day)
    lead = [x for x in (case(book, line), span(line)) if x]
    if not lead:
        return " ".join(told)
    led = ", ".join([lead[0], *(lower_first(x) for x in lead[1:])])
    return " ".join([f"{led}: {lower_first(told[0])}", *told[1:]])


def snippet(data: dict[str, Any]) -> str:
    """The data as an element to paste into a page; nothing in it can end the element."""
    text = json.dumps(data, ensure_ascii=False, indent=1)
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return f'<script type="application/ld+json">\n{text}\n</script>\n'
