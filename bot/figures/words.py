"""What codes and ids are called in a report."""

from __future__ import annotations

from rules.model import Book

KINDS = {
    "answer": "Answered by a rule",
    "question": "Asked back",
    "cautious": "Careful answer",
    "referral": "Passed to the contact centre",
    "unclear": "Not understood",
    "emergency": "Emergency",
    "information": "Information",
    "failed": "No answer: the program failed",
}
OTHER = "other"
CHANNELS = {
    "webchat": "Web chat",
    "sms": "Text messages",
    "panel": "Agents’ panel",
    "rest": "Other programs",
}
REMARKS = {"right": "Right", "wrong": "Wrong", "missing": "Something missing"}
NOWHERE = ""
"""Stands for the district where none was given."""


def kind(code: str) -> str:
    """What a kind of reply is called."""
    return KINDS.get(code, "Other")


def channel(code: str) -> str:
    """What a channel is called."""
    return CHANNELS.get(code, plain(code).capitalize())


def district(book: Book, code: str | None) -> str:
    """What a district is called."""
    if not code:
        return "No district given"
    return book.districts[code].name if code in book.districts else plain(code).capitalize()


def item(book: Book, code: str | None) -> str:
    """What a thing is called; one the book has no more keeps its id."""
    if code is None:
        return "A thing no rule knows"
    return plain(book.items[code].name if code in book.items else code)


def place(book: Book, code: str) -> str:
    """What a destination is called."""
    return plain(book.destinations[code].name if code in book.destinations else code)


def condition(code: str) -> str:
    """What a condition is called."""
    return plain(code)


def plain(text: str) -> str:
    """A text on one line, without what cannot be printed."""
    return " ".join("".join(c if c.isprintable() else " " for c in text.replace("_", " ")).split())
