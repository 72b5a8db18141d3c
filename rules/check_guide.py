"""The part of the proof that reads what is printed: tick-boxes that could never be right."""

from __future__ import annotations

from rules.decide import leaves
from rules.finding import Findings
from rules.model import Book, Misplaced


def check_guide(book: Book, found: Findings) -> None:
    """Every finding about the tag's tick-boxes."""
    for stream, listed in book.guide.tags.items() if book.guide else ():
        for wrong in listed:
            known = book.conditions_that_matter(wrong.item)
            for condition in wrong.facts:
                if condition not in known:
                    what = f"'{wrong.item}' does not depend on '{condition}'"
                    cure = f"Use one of: {', '.join(sorted(known)) or 'no condition at all'}"
                    found.add(wrong.where, what, cure)
            if not wrong.facts and not strays(book, stream, wrong):
                what = f"'{wrong.item}' belongs in '{stream}' in every district on every day"
                found.add(wrong.where, what, "Remove it from the tag", severity="warning")


def strays(book: Book, stream: str, wrong: Misplaced) -> bool:
    """Whether a thing goes elsewhere than a stream's container, in any case, anywhere, ever."""
    for district in book.districts:
        for day in book.turning_days():
            box = book.container(district, stream, day)
            if box is None:
                continue
            for leaf in leaves(book, district, day, wrong.item, wrong.facts, frozenset()):
                if leaf.decision.container != box.name:
                    return True
    return False
