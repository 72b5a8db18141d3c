"""One reader of the demo book, built without training."""

from __future__ import annotations

import pytest
from reading import FRAMES

from bot.language.lexicon import build, frame_words
from bot.language.reader import Reader
from rules import load
from rules.model import Book


@pytest.fixture(scope="session")
def book() -> Book:
    return load()


@pytest.fixture(scope="session")
def frame() -> frozenset[str]:
    return frame_words(FRAMES)


@pytest.fixture(scope="session")
def reader(book: Book, frame: frozenset[str]) -> Reader:
    return Reader(build(book, frame), frame, frame)
