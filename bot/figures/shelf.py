"""Reports that were made lately, for a server: made once, shown, saved and downloaded."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from threading import Lock

import sqlalchemy as sa
from markupsafe import Markup
from sqlalchemy.engine import Engine

from bot.figures.page import figures
from bot.figures.period import today
from bot.figures.query import Query
from bot.figures.report import Report, made
from bot.record.store import FILE, Record
from bot.remarks import Remarks
from bot.storage import engine
from rules.model import Book

KEPT = 8
REMARKS = "remarks.db"

Key = tuple[Query, str, date, tuple[int, int]]


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
        self.stores: tuple[Record, Remarks, tuple[Engine, Engine]] | None = None

    def get(self, query: Query, book: Book) -> Ready:
        """The report of a query; the one made before while nothing was said or forgotten since."""
        with self.lock:
            record, remarks, files = self.stores = self.stores or opened(self.data)
            key = query, book.version, today(), (version(files[0]), version(files[1]))
            found = self.ready.get(key)
            if found is None:
                report = made(query, book, record, remarks.all())
                found = self.ready[key] = Ready(report, figures(report))
            self.ready.move_to_end(key)
            while len(self.ready) > KEPT:
                self.ready.popitem(last=False)
            return found


def opened(data: Path) -> tuple[Record, Remarks, tuple[Engine, Engine]]:
    """The stores of a data folder, and their files by connections that stay open."""
    record, remarks = Record(data), Remarks(data / REMARKS)
    return record, remarks, (engine(data / FILE), remarks.engine)


def version(file: Engine) -> int:
    """A number that is another one as soon as somebody else has written to a file of SQLite."""
    with file.connect() as connection:
        return int(connection.execute(sa.text("PRAGMA data_version")).scalar())
