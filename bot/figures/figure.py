"""A figure: what it shows, how it is counted, its table, its chart, and its values for a file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

T = TypeVar("T")

Cell = str | int | float | None


@dataclass(frozen=True, slots=True)
class Counted(Generic[T]):
    """A rule of counting: the sentence people read, and the test the program makes."""

    says: str
    holds: Callable[[T], bool]

    def among(self, found: list[T]) -> list[T]:
        """Those it holds for."""
        return [x for x in found if self.holds(x)]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table. `kind` is text, range, sentence, count, share (0 to 1) or day."""

    name: str
    kind: str = "count"


@dataclass(frozen=True, slots=True)
class Bars:
    """A chart of bars that lie, one to a label; with several series they are stacked.

    `grouped` puts them under each other instead. `notes` stand at the ends of bars that are not
    grouped. `unit` says what the bars measure.
    """

    labels: tuple[str, ...]
    series: tuple[tuple[str, tuple[float, ...]], ...]
    notes: tuple[str, ...]
    unit: str
    grouped: bool = False


@dataclass(frozen=True, slots=True)
class Columns:
    """A chart of bars that stand, one to a day or week, stacked by series."""

    labels: tuple[str, ...]
    series: tuple[tuple[str, tuple[int, ...]], ...]
    unit: str


@dataclass(frozen=True, slots=True)
class Pairs:
    """A chart of shares before and after, each with its interval: (value, low, high)."""

    labels: tuple[str, ...]
    before: tuple[tuple[float, float, float] | None, ...]
    after: tuple[tuple[float, float, float] | None, ...]
    unit: str


Chart = Bars | Columns | Pairs


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure. `summary` tells the main thing in a sentence; it describes the chart, too.

    `rows` may be cut to the first; `values` has everything, one number to each, with the names of
    `bot.figures.values.FIELDS`.
    """

    id: str
    title: str
    how: str
    summary: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    chart: Chart | None
    values: tuple[dict[str, Any], ...] = ()
    of_all: int = 0
    notes: tuple[str, ...] = field(default=())
    long: bool = False

    @property
    def wide(self) -> bool:
        """Whether the table needs the page's whole width."""
        return len(self.columns) > 6 or any(c.kind == "sentence" for c in self.columns)

    @property
    def cut(self) -> int:
        """How many rows the table leaves out."""
        return max(0, self.of_all - len(self.rows))


def shown(cell: Cell, kind: str) -> str:
    """A cell as people read it."""
    if cell is None:
        return "–"
    if kind == "share":
        return percent(float(cell))
    if kind == "count" and isinstance(cell, int):
        return f"{cell:,}"
    return str(cell)


def percent(value: float) -> str:
    """A share in whole percent; what is neither none nor all never looks so."""
    if 0 < value < 0.005:
        return "under 1%"
    if 0.995 <= value < 1:
        return "over 99%"
    return f"{value * 100:.0f}%"


def amount(number: int, one: str, many: str = "") -> str:
    """A number and what it counts."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"
