"""A report in the terminal: each figure's first rows, and how it is counted."""

from __future__ import annotations

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from bot.figures.figure import Figure, shown
from bot.figures.report import Report

ROWS = 8
LAST = ("days",)
"""Figures of which the last rows tell more than the first."""


def show(report: Report, console: Console | None = None) -> None:
    """Print a report in short."""
    out = console or Console(highlight=False)
    if report.demo:
        out.print("[bold]Demo traffic.[/] The simulator made these questions; no resident did.")
    for line in report.about:
        out.print(escape(line))
    if report.empty:
        out.print("Nobody asked anything on these days.")
        return
    for figure in report.figures:
        out.print(f"\n[bold]{escape(figure.title)}[/]")
        out.print(escape(figure.summary))
        for note in figure.notes:
            out.print(escape(note))
        if figure.rows:
            out.print(table(figure))
        out.print(f"[dim]How it is counted: {escape(figure.how)}[/]")


def table(figure: Figure) -> Table:
    """A figure's first rows."""
    made = Table(box=None, pad_edge=False, header_style="underline")
    for column in figure.columns:
        number = column.kind in ("count", "share")
        made.add_column(escape(column.name), justify="right" if number else "left")
    rows = (
        figure.rows[-ROWS:]
        if figure.id in LAST
        else figure.rows[: max(ROWS, len(figure.rows) if figure.id == "change" else 0)]
    )
    for row in rows:
        cells = zip(row, figure.columns, strict=True)
        made.add_row(*(escape(shown(cell, column.kind)) for cell, column in cells))
    if len(rows) < figure.of_all:
        made.caption = f"{len(rows)} of {figure.of_all:,}"
        made.caption_justify = "left"
    return made
