"""The demo book as the review list knows it, and a review list of its own folder."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from bot.changes.store import Changes
from bot.review.board import Board
from bot.review.known import Known, known_to
from rules import load
from rules.model import Book
from tests.bot.conftest import BOOK


@pytest.fixture(scope="session")
def book() -> Book:
    return load()


@pytest.fixture(scope="session")
def known(book: Book) -> Known:
    return known_to(book)


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    """A copy of the rule files that may be changed."""
    shutil.copytree(BOOK, tmp_path / "rules")
    return tmp_path / "rules"


@pytest.fixture
def board(tmp_path: Path, rules: Path, known: Known) -> Board:
    data = tmp_path / "data"
    return Board(data, rules, Changes(data, rules), lambda: known)


@pytest.fixture
def titles(board: Board) -> Callable[..., dict[str, Any]]:
    """The groups by what they are called."""
    return lambda: {g.title: g for g in board.groups()}
