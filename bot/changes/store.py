"""The proposed changes, a file each, and how they are made, joined, applied and taken back.

One lock file keeps the server and the command line from changing the same thing at once.
"""

from __future__ import annotations

import fcntl
import json
import re
import secrets
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime, timezone
from pathlib import Path
from typing import Any

from bot.atomic import write_json
from bot.changes.change import Change
from bot.changes.merging import Clash, merged
from bot.changes.places import BOOK, Places, Texts
from bot.processes import Failed
from rules.edit import EditError, add_item, add_name

ID = re.compile(r"[0-9]{8}-[0-9a-f]{6}")
TITLE = 120
"""Characters of a title."""

Edit = Mapping[str, Any]
"""`{"add_name": {item, name}}` or `{"add_item": {file, id, entry}}`; a file is `book/….yml`."""
Check = Callable[[Change, Texts], Sequence[str]]
"""What is wrong with the files as a change would leave them, in lines; nothing if they may go."""


def now() -> str:
    """This moment, UTC in ISO 8601."""
    return datetime.now(timezone.utc).isoformat(timespec="seconds")


class Changes:
    """The changes of a data folder to a folder of rule files. Calls may come from any thread."""

    def __init__(self, data: Path, rules: Path) -> None:
        self.data = data
        self.folder = data / "changes"
        self.places = Places(rules)

    @contextmanager
    def locked(self) -> Iterator[None]:
        """Hold the lock against all others who change something."""
        try:
            self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            with (self.folder / ".lock").open("w") as file:
                fcntl.flock(file, fcntl.LOCK_EX)
                yield
        except OSError as error:
            where = error.filename or self.folder
            raise Failed(f"{where} cannot be written: {error.strerror}.") from None

    # ---- what there is

    def get(self, id: str) -> Change:
        """A change. Raises `Failed` if there is none of that name."""
        path = self.folder / f"{id}.json"
        try:
            if not ID.fullmatch(id):
                raise FileNotFoundError
            return Change.from_json(json.loads(path.read_text(encoding="utf-8")))
        except FileNotFoundError:
            raise Failed(f"There is no change '{id}'. See: lidwise changes list") from None
        except OSError as error:
            raise Failed(f"{path} cannot be read: {error.strerror}.") from None
        except (ValueError, TypeError, KeyError):
            raise Failed(f"{path} is damaged. Remove it.") from None

    def all(self) -> list[Change]:
        """Every change that can be read, the newest first."""
        found = []
        for path in self.folder.glob("*.json"):
            try:
                found.append(self.get(path.stem))
            except Failed:
                continue
        return sorted(found, key=lambda c: (c.at, c.id), reverse=True)

    def keep(self, change: Change) -> Change:
        """Write a change, all at once."""
        write_json(self.folder / f"{change.id}.json", change.to_json())
        return change

    # ---- making one

    def propose(
        self,
        title: str,
        files: Mapping[str, str | None],
        *,
        by: str,
        about: Mapping[str, Any] | None = None,
        before: Mapping[str, str | None] | None = None,
    ) -> Change:
        """Propose new texts of files; `None` takes a file away.

        `before` are the texts they were made from, where that is not what is there now. Raises
        `Failed` if they were changed meanwhile, or nothing would change.
        """
        return self.new(title, files, by, about or {}, (), before or {})

    def propose_edits(
        self,
        title: str,
        edits: Sequence[Edit],
        *,
        by: str,
        about: Mapping[str, Any] | None = None,
        files: Mapping[str, str | None] | None = None,
    ) -> Change:
        """Propose edits, and whole files beside them (an example, say).

        They can be made again after the rule files were changed. Raises `Failed` with what keeps
        an edit from being made.
        """
        made: dict[str, str | None] = {**self.edited(edits), **(files or {})}
        return self.new(title, made, by, about or {}, tuple(edits), {})

    def edited(self, edits: Sequence[Edit]) -> Texts:
        """The files that edits change, made on what is there now. Raises `Failed`."""
        texts = self.places.all()
        book = {n[len(BOOK) :]: t for n, t in texts.items() if n.startswith(BOOK)}
        changed: Texts = {}
        try:
            for edit in edits:
                ((how, told),) = edit.items()
                if how == "add_name":
                    new = add_name({**book, **changed}, told["item"], told["name"])
                elif how == "add_item":
                    file = str(told["file"]).removeprefix(BOOK)
                    new = add_item({**book, **changed}, file, told["id"], told["entry"])
                else:
                    raise Failed(f"There is no edit '{how}'.")
                changed |= new
        except EditError as error:
            raise Failed(str(error)) from None
        return {BOOK + name: text for name, text in changed.items()}

    def new(
        self,
        title: str,
        files: Mapping[str, str | None],
        by: str,
        about: Mapping[str, Any],
        edits: tuple[Edit, ...],
        before: Mapping[str, str | None],
    ) -> Change:
        """A change of some files, kept."""
        title = " ".join(title.split())[:TITLE] or "A change"
        there = {name: self.places.text(name) for name in files}
        for name, text in before.items():
            if name in there and there[name] != text:
                raise Failed(
                    f"{name} was changed by somebody else meanwhile. Load it again, "
                    "and make your change there."
                )
        files = {name: text for name, text in files.items() if text != there[name]}
        if not files:
            raise Failed("This would change nothing.")
        with self.locked():
            return self.keep(
                Change(
                    id=f"{datetime.now(timezone.utc):%Y%m%d}-{secrets.token_hex(3)}",
                    title=title,
                    by=by,
                    at=now(),
                    files=files,
                    before={name: there[name] for name in files},
                    about=dict(about),
                    edits=edits,
                )
            )

    # ---- what becomes of one

    def texts(self, change: Change) -> Texts:
        """All files as they would be with a change laid over those that are there now."""
        texts: dict[str, str | None] = {**self.places.all(), **change.files}
        return {name: text for name, text in texts.items() if text is not None}

    def stale(self, change: Change) -> list[str]:
        """The files of a change that were changed since it was made."""
        return [n for n, text in change.before.items() if self.places.text(n) != text]

    def again(self, id: str, by: str) -> Change:
        """Make a proposed change again on the files as they are now.

        Edits are made again; whole texts get the lines that were changed. Raises `Failed` if those
        lines were changed by somebody else, too.
        """
        with self.locked():
            change = self.proposed(id)
            files: dict[str, str | None] = {}
            made = self.edited(change.edits)
            for name, new in change.files.items():
                files[name] = made[name] if name in made else self.merge(change, name, new)
            there = {name: self.places.text(name) for name in files}
            left = {name: text for name, text in files.items() if text != there[name]}
            if not left:
                raise Failed("The rule files have this change already. Drop it.")
            before = {name: there[name] for name in left}
            return self.keep(replace(change, files=left, before=before))

    def merge(self, change: Change, name: str, new: str | None) -> str | None:
        """A file of a change, made again on what is there now."""
        base, here = change.before[name], self.places.text(name)
        if here in (base, new):
            return new
        try:
            if base is None or here is None or new is None:
                raise Clash("the file was made or removed meanwhile")
            return merged(base, new, here)
        except Clash as clash:
            raise Failed(f"{name}: {clash}. Edit the file as it is now, and drop this.") from None

    def join(self, id: str, other: str, by: str) -> Change:
        """Put another proposed change into one, such as an example into a rule's. The other one
        is dropped. Raises `Failed` if both change the same file."""
        with self.locked():
            one, two = self.proposed(id), self.proposed(other)
            both = sorted(set(one.files) & set(two.files))
            if id == other or both:
                raise Failed(f"Both changes are to {', '.join(both) or 'the same files'}.")
            asked = [*one.about.get("questions", ()), *two.about.get("questions", ())]
            joined = replace(
                one,
                files={**one.files, **two.files},
                before={**one.before, **two.before},
                edits=(*one.edits, *two.edits),
                about={**two.about, **one.about, **({"questions": asked} if asked else {})},
            )
            kept = self.keep(joined)
            self.keep(ended(two, by, one.id))
            return kept

    def proposed(self, id: str) -> Change:
        """A change that still waits. Raises `Failed` otherwise."""
        change = self.get(id)
        if change.state != "proposed":
            who = f" by {change.ended_by}" if change.ended_by else ""
            raise Failed(f"This change was {change.state} already{who}.")
        return change

    def drop(self, id: str, by: str, became: str | None = None) -> None:
        """Put a change away; `became` is the one that took its place."""
        with self.locked():
            self.keep(ended(self.proposed(id), by, became))

    def last(self, id: str) -> Change:
        """A change, or the one that took its place. Raises `Failed` if there is none."""
        seen = {id}
        change = self.get(id)
        while (became := change.about.get("became")) and became not in seen:
            seen.add(became)
            change = self.get(became)
        return change

    def apply(self, id: str, seen: str, by: str, check: Check | None = None) -> None:
        """Write a change to the rule files.

        `seen` is the digest of the difference that was read. `check` says what is wrong with the
        files as they would be; without one they are loaded, proved and tried by the examples that
        need no model. Raises `Failed` with the reason, and then nothing was changed.
        """
        with self.locked():
            change = self.proposed(id)
            if change.digest != seen:
                raise Failed("This is not the difference you read. Look at it again.")
            stale = self.stale(change)
            if stale:
                raise Failed(
                    f"Changed since this was proposed: {', '.join(stale)}. Make it again on "
                    "today's files, then read it."
                )
            if check is None:
                from bot.changes.judging import faults as check
            checked = self.texts(change)
            wrong = check(change, checked)
            if wrong:
                raise Failed("The check fails, so nothing was changed:\n" + "\n".join(wrong))
            if self.stale(change) or self.texts(change) != checked:
                raise Failed("A file was changed while this was checked. Look at it again.")
            self.places.write(change.files)
            try:
                self.keep(replace(change, state="applied", ended=now(), ended_by=by))
            except OSError:
                self.places.write(change.before)
                raise

    def undo(self, id: str, by: str) -> Change:
        """Propose to put back what an applied change replaced. Raises `Failed`."""
        change = self.get(id)
        if change.state != "applied":
            raise Failed(f"This change is {change.state}, so there is nothing to take back.")
        turned = replace(change, files=change.before, before=change.files, edits=())
        files = {name: self.merge(turned, name, text) for name, text in turned.files.items()}
        return self.propose(f"Take back: {change.title}", files, by=by, about={"undoes": id})


def ended(change: Change, by: str, became: str | None) -> Change:
    """A change put away, with the one that took its place."""
    about = {**change.about, "became": became} if became else change.about
    return replace(change, state="dropped", ended=now(), ended_by=by, about=about)
