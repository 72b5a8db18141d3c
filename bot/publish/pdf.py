"""The guide as a tagged PDF of two A4 pages."""

from __future__ import annotations

import json
from datetime import date, datetime, timezone
from functools import cache
from pathlib import Path
from typing import Any

from bot.processes import Failed
from bot.publish import drawing
from bot.publish.atoz import FOLDER
from bot.publish.guide import TAG, Group, Sheet, danger, doubt, sheet
from bot.publish.lines import lower_first, plain_day
from rules.model import Book

FULL = "the guide is too full"
"""What the template says when a page does not hold its text at the smallest size."""


@cache
def fonts() -> Any:
    """The one family the guide is set in; none of the machine's own, so that all machines agree."""
    import font_lato
    import typst

    folder = Path(font_lato.font_directory)
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(folder)]
    )


def pdf(book: Book, district: str, day: date) -> bytes:
    """The guide. Raises `Failed` if it takes more than two pages.

    The typesetter is loaded here: it is large, and most processes need none.
    """
    import typst

    made = sheet(book, district, day)
    compiler = typst.Compiler(
        input=(FOLDER / "guide.typ").read_bytes(),
        root=FOLDER,
        font_paths=fonts(),
        sys_inputs={"guide": json.dumps(plain(book, made), ensure_ascii=False)},
    )
    moment = datetime(day.year, day.month, day.day, tzinfo=timezone.utc)
    try:
        out = compiler.compile(format="pdf", pdf_standards=["ua-1"], timestamp=moment)
    except typst.TypstError as error:
        if FULL not in str(error):
            raise
        name = book.districts[district].name
        where = book.guide.where if book.guide else "guide.yml"
        raise Failed(
            f"The guide for {name} does not fit on two pages. "
            f"Take things out of 'common' ({where})."
        ) from None
    assert isinstance(out, bytes)
    return out


def plain(book: Book, made: Sheet) -> dict[str, Any]:
    """All words and drawings of the guide, for the template."""
    scheme = book.scheme
    name = book.districts[made.district].name
    return {
        "title": f"What goes in which bin in {name}",
        "district": name,
        "scheme": scheme.name,
        "day": plain_day(made.day),
        "version": book.version,
        "cards": [
            {
                "name": card.container.name,
                "streams": card.streams,
                "takes": card.takes,
                "refuses": card.refuses,
                "items": [e.words for e in card.entries],
                "notes": list(card.notes),
                "picture": drawing.picture(card.container.name),
            }
            for card in made.cards
        ],
        "never": [together(g) for g in made.never],
        "elsewhere": [together(g) for g in made.elsewhere],
        "changes": list(made.changes),
        "centres": [
            {"name": c.name, "address": c.address, "hours": list(c.hours), "note": c.note or ""}
            for c in book.centres.values()
            if c.district == made.district
        ],
        "doubt": doubt(book, made.district, made.day),
        "danger": danger(book),
        "tag": book.topics[TAG].answer if TAG in book.topics else "",
        "phone": scheme.phone,
        "hours": scheme.hours,
        "web": scheme.web,
        "count": len(book.items),
    }


def together(group: Group) -> dict[str, Any]:
    """A group's place and its things."""
    return {"where": group.where, "items": [lower_first(e.words) for e in group.entries]}
