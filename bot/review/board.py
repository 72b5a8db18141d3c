"""The review list of one data folder: what the officer sees of it, and what is decided there."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from threading import Lock
from typing import Any, Protocol

import yaml

from bot.processes import Failed
from bot.record import books
from bot.record.store import Record
from bot.remarks import Remarks
from bot.review import accept
from bot.review.gather import gather
from bot.review.known import Known
from bot.review.listing import Group, grouped
from bot.review.store import Store
from rules.loader import BookError, read_files


@contextmanager
def as_wrong(field: str) -> Iterator[None]:
    """Tell what the rule files are in the way with beside a field of the form."""
    try:
        yield
    except (Failed, BookError) as error:
        raise accept.Wrong(**{field: str(error)}) from None
    except (yaml.YAMLError, LookupError):
        said = "The rule files cannot be read as they are. Put their mistakes right first."
        raise accept.Wrong(**{field: said}) from None


class Proposals(Protocol):
    """What is asked of the proposed changes; see `bot.changes.store.Changes`."""

    def propose_edits(
        self,
        title: str,
        edits: Sequence[Mapping[str, Any]],
        *,
        by: str,
        about: Mapping[str, Any] | None = None,
    ) -> Any:
        """Keep a change; it has an `id`. Raises `Failed`."""

    def last(self, id: str) -> Any:
        """A change, or the one that took its place; it has a `state`. Raises `Failed` if there is
        none."""


class Board:
    """Reads and decides. Calls may come from any thread; each takes its turn.

    `rules` is the folder of the rule files, `known` tells what the book in force knows.
    """

    def __init__(
        self, data: Path, rules: Path, changes: Proposals, known: Callable[[], Known]
    ) -> None:
        self.data, self.rules, self.changes, self.known = data, rules, changes, known
        self.record, self.remarks, self.store = (
            Record(data),
            Remarks(data / "remarks.db"),
            Store(data),
        )
        self.lock = Lock()

    def groups(self) -> list[Group]:
        """All groups, in the order they were first asked."""
        with self.lock:
            entries = gather(self.record, self.remarks.all())
            known = self.known()
            since = self.in_force_since(known.book.version)
            return grouped(entries, self.store, known, self.state_of, since=since)

    def group(self, key: str) -> Group:
        """A group by its key. Raises `Failed` if nothing of it is left."""
        found = next((g for g in self.groups() if g.key == key), None)
        if found is None:
            raise Failed(f"There is nothing to look at under '{key}'. It may have been forgotten.")
        return found

    def in_force_since(self, version: str) -> datetime | None:
        """When a book came into force, if that is kept."""
        try:
            return books.read(self.data, version)[0]
        except Failed:
            return None

    def state_of(self, change: str) -> str | None:
        """The state of a change, `None` if there is none of that id."""
        try:
            return str(self.changes.last(change).state)
        except Failed:
            return None

    def name(self, group: Group, item: str, names: Iterable[str], by: str) -> str:
        """Propose names for an item; the change's id. Raises `accept.Wrong`."""
        book = self.known().book
        item = accept.item_named(book, item)
        with as_wrong("item"):
            made = accept.as_name(book, read_files(self.rules), group, item, names)
            return self.propose(group, made, by)

    def item(self, group: Group, new: accept.NewItem, by: str) -> str:
        """Propose a new item; the change's id. Raises `accept.Wrong`."""
        with as_wrong("file"):
            made = accept.as_item(self.known().book, read_files(self.rules), group, new)
            return self.propose(group, made, by)

    def propose(self, group: Group, made: accept.Proposal, by: str) -> str:
        """Propose a change and keep that the group is accepted by it."""
        change = self.changes.propose_edits(made.title, made.edits, by=by, about=made.about)
        self.decide(group, "accepted", by, change=change.id)
        return str(change.id)

    def decide(
        self, group: Group, state: str, by: str, because: str = "", change: str | None = None
    ) -> None:
        """Keep what was decided of a group. Raises `ValueError`."""
        self.store.decide(
            group.key,
            state,
            by=by,
            asked=group.asked,
            forms=group.forms,
            because=because,
            change=change,
        )
