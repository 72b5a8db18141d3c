"""The rule book in force, shared by all processes of a running assistant.

A checked book is stored as one file that is replaced whole; each process loads it when it changes.
"""

from __future__ import annotations

import json
import logging
import os
import tempfile
from pathlib import Path
from threading import Lock

from rules import Book, load
from rules.loader import load_texts

logger = logging.getLogger(__name__)

VARIABLE = "LIDWISE_BOOK"
"""Environment variable with the path of the stored book; without it the project's own is read."""


def store(texts: dict[str, str], path: Path) -> None:
    """Put rule file texts in force, all at once."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile("w", encoding="utf-8", dir=path.parent, delete=False) as f:
        json.dump(texts, f)
    os.replace(f.name, path)


class Shelf:
    """Holds the book in force."""

    def __init__(self) -> None:
        self.book: Book | None = None
        self.stamp: tuple[int, int] | None = None
        self.lock = Lock()

    def current(self) -> Book:
        """The book in force. If a new one cannot be read, the one before stays."""
        name = os.environ.get(VARIABLE)
        if not name:
            with self.lock:
                if self.book is None:
                    self.book = load()
                return self.book
        try:
            status = os.stat(name)
            stamp = (status.st_mtime_ns, status.st_ino)
            if stamp != self.stamp:
                with self.lock:
                    if stamp != self.stamp:
                        self.book = load_texts(json.loads(Path(name).read_text(encoding="utf-8")))
                        self.stamp = stamp
        except (OSError, ValueError):
            if self.book is None:
                raise
            logger.exception("The rule book could not be read again; the one before stays.")
        assert self.book is not None
        return self.book


SHELF = Shelf()
