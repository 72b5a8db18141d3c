"""Follows the rule files: a right change comes into force whole, a wrong one not at all."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import watchfiles

from actions.current import store
from bot.atomic import write_json
from bot.checking import Verdict, judge, plain
from bot.examples import files
from bot.examples.conversations import Played
from bot.record import books

logger = logging.getLogger(__name__)

STATUS = "book-status.json"
SETTLE = 300
"""Milliseconds without a change after which an editor counts as done."""
LOOK = 2_000
"""Milliseconds after which the folder is looked at even if nothing was reported."""

Stamp = dict[str, tuple[int, int, int]]


def stamps(*folders: Path) -> Stamp:
    """Size, time and identity of every YAML file."""
    found: Stamp = {}
    for path in (p for f in folders for p in (*f.rglob("*.yml"), *f.rglob("*.yaml"))):
        if path.name.startswith("."):
            continue
        try:
            status = path.stat()
        except OSError:
            continue
        found[str(path)] = (status.st_mtime_ns, status.st_size, status.st_ino)
    return found


class Keeper:
    """Keeps the stored book and its state file in step with a folder of rule files.

    `played` has the conversations among the examples played, where there is a server that can.
    """

    def __init__(self, folder: Path, stored: Path, say: Callable[[str], None]) -> None:
        self.folder, self.stored, self.say = folder, stored, say
        self.examples = files.folder_of(folder)
        self.played: Callable[[Verdict], Played] | None = None
        self.seen: Stamp = {}
        self.version = ""
        self.failing = False

    def settled(self) -> None:
        """Wait until nobody is writing."""
        before = stamps(self.folder, self.examples)
        while True:
            time.sleep(SETTLE / 1000)
            now = stamps(self.folder, self.examples)
            if now == before:
                self.seen = now
                return
            before = now

    def look(self) -> Verdict:
        """Judge the files as they are and put them in force if they pass."""
        self.settled()
        verdict = judge(self.folder, date.today())
        if verdict.passed and self.played:
            found = self.played(verdict).mistakes
            verdict = replace(verdict, mistakes=(*verdict.mistakes, *found))
        if verdict.passed:
            self.accept(verdict)
        else:
            self.refuse(verdict)
        return verdict

    def accept(self, verdict: Verdict) -> None:
        """Put a right book in force."""
        assert verdict.book is not None
        if verdict.book.version != self.version:
            store(dict(verdict.texts), self.stored)
            books.keep(self.stored.parent, verdict.texts, verdict.book.version)
            if self.version:
                self.say(f"The rule files changed. In force now: {len(verdict.book.items)} items.")
        elif self.failing:
            self.say("The rule files are right again; nothing else changed.")
        self.version, self.failing = verdict.book.version, False
        self.status("in force", verdict)

    def refuse(self, verdict: Verdict) -> None:
        """Leave the book before in force and say what is wrong."""
        self.failing = True
        if self.version:
            self.say("The rule files changed, but have mistakes. The old rules stay in force:")
            for mistake in verdict.errors:
                self.say(f"  {mistake}")
        self.status("old book in force", verdict)

    def status(self, state: str, verdict: Verdict) -> None:
        """Tell the servers, for their state page."""
        told = {
            "state": state,
            "checked_at": datetime.now().astimezone().isoformat(timespec="seconds"),
            "mistakes": [plain(m) for m in verdict.errors],
        }
        write_json(self.stored.parent / STATUS, told)

    def follow(self, stop: threading.Event) -> None:
        """Look at each change until told to stop."""
        while not stop.is_set():
            try:
                self.wake(stop)
            except Exception:
                logger.exception("The rule files cannot be watched; trying again.")
                self.seen = {}
                stop.wait(LOOK / 1000)

    def wake(self, stop: threading.Event) -> None:
        """Look whenever the system reports a change, and now and then in case it did not."""
        changes = watchfiles.watch(
            *(f for f in (self.folder, self.examples) if f.is_dir()),
            stop_event=stop,
            debounce=SETTLE,
            rust_timeout=LOOK,
            yield_on_timeout=True,
            raise_interrupt=False,
        )
        for _ in changes:
            if stop.is_set():
                return
            if stamps(self.folder, self.examples) != self.seen:
                self.look()
