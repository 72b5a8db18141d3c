"""A proposed change: which files, their new texts, who, when, and what about."""

from __future__ import annotations

import difflib
import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

STATES = ("proposed", "applied", "dropped")


@dataclass(frozen=True, slots=True)
class Change:
    """A change to files of the rules.

    Paths start with `book/` (a rule file) or `examples/`. `files` has each new text, `before` the
    text it was made from; `None` is a file that is not there. `edits` are the operations that made
    the files, such as `{"add_name": {"item": "kettle", "name": "water boiler"}}`; without them the
    texts were edited as a whole. `at` and `ended` are UTC in ISO 8601. `about` is free; it may hold
    the questions to try, and the review's key.
    """

    id: str
    title: str
    by: str
    at: str
    files: Mapping[str, str | None]
    before: Mapping[str, str | None]
    state: str = "proposed"
    about: Mapping[str, Any] = field(default_factory=dict)
    edits: tuple[Mapping[str, Any], ...] = ()
    ended: str | None = None
    ended_by: str | None = None

    @property
    def digest(self) -> str:
        """What the whole difference is known by: who applies it tells which one was read."""
        told = hashlib.sha256()
        for path in sorted(self.files):
            told.update(f"{path}\0{self.before[path]!r}\0{self.files[path]!r}\0".encode())
        return told.hexdigest()[:16]

    def diff(self) -> str:
        """The difference, as a unified diff with three lines around each change."""
        return "".join(line + "\n" for path in sorted(self.files) for line in self.diff_of(path))

    def diff_of(self, path: str) -> Iterator[str]:
        """The difference in one file, by lines."""
        old, new = self.before[path] or "", self.files[path] or ""
        yield from difflib.unified_diff(
            old.splitlines(),
            new.splitlines(),
            path if self.before[path] is not None else "no file",
            path if self.files[path] is not None else "no file",
            lineterm="",
        )

    def to_json(self) -> dict[str, Any]:
        """As plain data."""
        return {**asdict(self), "edits": list(self.edits)}

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> Change:
        """From plain data. Raises `TypeError` or `KeyError` for what is no change."""
        made = cls(**{**data, "edits": tuple(data["edits"])})
        if made.state not in STATES or set(made.files) != set(made.before):
            raise TypeError("not a change")
        return made
