"""The rule book: files, and the engine that reads, checks and decides.

Nothing in this package knows of the conversation or of the framework that runs it.
"""

from rules.decide import (
    Decision,
    Question,
    decide,
    decide_cautiously,
    live_danger,
    unknown,
)
from rules.loader import BookError, load
from rules.model import Book

__all__ = [
    "Book",
    "BookError",
    "Decision",
    "Question",
    "decide",
    "decide_cautiously",
    "live_danger",
    "load",
    "unknown",
]
