"""The rule book in force, shared by all processes of a running assistant.

A checked book is stored as one file that is replaced whole; each process loads it when it changes.
"""

from __future__ import annotations

import json
import logging
import os
import tempfile
from collections.abc import Callable
from datetime import datetime
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


def stored(path: Path) -> dict[str, str]:
    """The texts that were put in force. Raises `OSError` or `ValueError`."""
    return dict(json.loads(path.read_text(encoding="utf-8")))


class Shelf:
    """Holds the book in force.

    Where `followed` is set, a thread of the process calls `refresh`, and nobody who asks for the
    book waits for a new one. `prepare` then makes what else depends on the book, before the book
    is in force, and returns what puts that in force.
    """

    def __init__(self) -> None:
        self.book: Book | None = None
        self.stamp: tuple[int, int] | None = None
        self.loaded: datetime | None = None
        self.lock = Lock()
        self.followed = False
        self.prepare: Callable[[Book], Callable[[], None]] | None = None

    def current(self) -> Book:
        """The book in force. If a new one cannot be read, the one before stays."""
        if self.book is None or not self.followed:
            self.refresh()
        assert self.book is not None
        return self.book

    def refresh(self) -> None:
        """Put the stored book in force if it is another one."""
        name = os.environ.get(VARIABLE)
        if not name:
            with self.lock:
                if self.book is None:
                    self.swap(load())
            return
        try:
            status = os.stat(name)
            stamp = (status.st_mtime_ns, status.st_ino)
            if stamp == self.stamp:
                return
            with self.lock:
                if stamp != self.stamp:
                    self.stamp = stamp
                    self.swap(load_texts(json.loads(Path(name).read_text(encoding="utf-8"))))
        except (OSError, ValueError):
            if self.book is None:
                self.stamp = None
                raise
            logger.exception("The rule book could not be read again; the one before stays.")

    def swap(self, book: Book) -> None:
        """Put a book in force."""
        done = self.prepare(book) if self.prepare else None
        self.book = book
        self.loaded = datetime.now().astimezone()
        if done:
            done()


SHELF = Shelf()
