"""What is compared: rule files, a revision, a kept book, or the present book on a day."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

from bot.checking import short_form
from bot.compare import git
from bot.processes import Failed
from bot.record import books
from rules.check import prove
from rules.compare import Comparison, compare
from rules.decide import RuleGap
from rules.loader import BookError, load_texts, read_files
from rules.model import Book

NOW = "now"
"""The name of the present rule files."""
DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass(frozen=True, slots=True)
class Side:
    """One of two sides: its book, the day it is taken as on, and what a person calls it."""

    name: str
    book: Book
    on: date | None = None


def side(told: str, rules: Path, data: Path) -> Side:
    """The side that a person names. `rules` is the folder of the present rule files.

    Raises `Failed` if there is nothing of that name, or its rule files have mistakes.
    """
    if DAY.fullmatch(told):
        try:
            on = date.fromisoformat(told)
        except ValueError:
            raise Failed(f"There is no day {told}. Check the month and the day.") from None
        return Side(f"the present rules on {told}", loaded(present(rules), "present rules"), on)
    if told == NOW:
        return Side("the present rules", loaded(present(rules), "present rules"))
    path = Path(told)
    if path.is_dir():
        return Side(told, loaded(files(path), told))
    if path.is_file():
        return Side(f"the present rules with {told}", loaded(with_file(path, rules), told))
    kept = [v.version for v in books.versions(data) if v.version.startswith(told)]
    if len(kept) == 1 and len(told) >= 6:
        return Side(f"the kept book {kept[0]}", loaded(books.texts_of(data, kept[0]), told))
    return Side(*at_revision(told, rules))


def at_revision(told: str, rules: Path) -> tuple[str, Book]:
    """The rule files as of a revision. Raises `Failed` if there is none of that name."""
    what = f"'{told}' is no folder, no rule file, no day and no book that is kept"
    try:
        commit = git.commit_of(rules, told)
    except Failed as failed:
        raise Failed(f"{what}. Nor can it be a revision: {failed}") from None
    if commit is None:
        raise Failed(f"{what}, and git knows no revision of that name.")
    return f"revision {told}", loaded(git.texts_at(rules, commit), told)


def present(rules: Path) -> dict[str, str]:
    """The present rule files. Raises `Failed` if they cannot be read."""
    return files(rules)


def files(folder: Path) -> dict[str, str]:
    """The rule files of a folder. Raises `Failed` if they cannot be read."""
    try:
        return read_files(folder)
    except BookError as error:
        raise Failed(f"{folder} cannot be used:\n{error}") from None


def with_file(path: Path, rules: Path) -> dict[str, str]:
    """The present rule files with one of them replaced. A file of a new name is added."""
    texts = present(rules)
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Failed(f"{path} cannot be read as UTF-8 text: {error}.") from None
    if path.suffix not in (".yml", ".yaml"):
        raise Failed(f"{path} is no rule file. Its name must end in .yml.")
    same = [name for name in texts if Path(name).name == path.name]
    closer = [name for name in same if path.resolve().as_posix().endswith(f"/{name}")]
    named = [max(closer, key=len)] if closer else same
    if len(named) > 1:
        raise Failed(f"{path} could be any of {', '.join(named)}. Name a folder instead.")
    texts[named[0] if named else path.name] = text
    return texts


def loaded(texts: Mapping[str, str], name: str) -> Book:
    """A book. Raises `Failed` with all mistakes."""
    try:
        return read_once(tuple(texts.items()))
    except BookError as error:
        raise Failed(f"The rule files of '{name}' have mistakes:\n{error}") from None


@lru_cache(maxsize=2)
def read_once(texts: tuple[tuple[str, str], ...]) -> Book:
    """A book; the same files are read once."""
    return load_texts(dict(texts))


def compared(
    old: Side, new: Side, *, on: date | None, since: date, district: str | None, item: str | None
) -> Comparison:
    """The comparison of two sides, all on one day if `on` is given.

    Raises `Failed` with all mistakes if the check refuses one of the books.
    """
    days = [on or s.on for s in (old, new)]
    try:
        return compare(
            old.book,
            new.book,
            old_on=days[0],
            new_on=days[1],
            since=since,
            district=district,
            item=item,
        )
    except (RuleGap, KeyError):
        for s in (old, new):
            refused(s)
        raise


def refused(one: Side) -> None:
    """Raise `Failed` with what the check finds wrong in a side, if it does."""
    today = date.today()
    errors = prove(one.book, today, short_form(one.book, today)).errors
    if errors:
        told = "\n".join(map(str, errors))
        raise Failed(f"The check refuses the rules of {one.name}:\n{told}")
