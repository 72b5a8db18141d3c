"""Reports that were made lately, for a server: made once, shown, saved and downloaded."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from threading import Lock

from markupsafe import Markup

from bot.figures.page import figures
from bot.figures.period import today
from bot.figures.query import Query
from bot.figures.report import Report, made
from bot.record.store import FILE, Record
from bot.remarks import Remarks
from rules.model import Book

KEPT = 8
REMARKS = "remarks.db"

Key = tuple[Query, str, date, tuple[tuple[int, int], ...]]


@dataclass(frozen=True, slots=True)
class Ready:
    """A report and its figures as a part of a page."""

    report: Report
    figures: Markup


class Reports:
    """Makes reports from a data folder, one at a time. Calls may come from any thread."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.lock = Lock()
        self.ready: OrderedDict[Key, Ready] = OrderedDict()
        self.record: Record | None = None
        self.remarks: Remarks | None = None

    def get(self, query: Query, book: Book) -> Ready:
        """The report of a query; the one made before while nothing was said or forgotten since."""
        with self.lock:
            key = query, book.version, today(), self.stamp()
            found = self.ready.get(key)
            if found is None:
                self.record = self.record or Record(self.data)
                self.remarks = self.remarks or Remarks(self.data / REMARKS)
                report = made(query, book, self.record, self.remarks.all())
                found = self.ready[key] = Ready(report, figures(report))
            self.ready.move_to_end(key)
            while len(self.ready) > KEPT:
                self.ready.popitem(last=False)
            return found

    def stamp(self) -> tuple[tuple[int, int], ...]:
        """What differs as soon as a row is written: size and time of the files."""
        found = []
        for name in (FILE, f"{FILE}-wal", REMARKS, f"{REMARKS}-wal"):
            try:
                status = (self.data / name).stat()
                found.append((status.st_size, status.st_mtime_ns))
            except OSError:
                found.append((0, 0))
        return tuple(found)
