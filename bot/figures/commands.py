"""`lidwise report`: what people ask, in the terminal and as files."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from bot import paths
from bot.terminal import UNCHANGED, plainly

BOOK = paths.PROJECT / "rules" / "book"


def report(
    start: Annotated[
        str, typer.Option("--from", help="First day; none: 28 days up to the last.")
    ] = "",
    end: Annotated[str, typer.Option("--to", help="Last day; none: today.")] = "",
    district: Annotated[str, typer.Option(help="Only this district.")] = "",
    channel: Annotated[
        str, typer.Option(help="Only this channel: webchat, sms, panel, rest.")
    ] = "",
    change: Annotated[str, typer.Option(help="Compare before and after this day.")] = "",
    demo: Annotated[
        bool | None,
        typer.Option(
            "--demo/--residents",
            help="Whose questions; neither: the residents', or the demo's if there are no others.",
        ),
    ] = None,
    html: Annotated[Path | None, typer.Option(help="Save it as one HTML file.")] = None,
    csv: Annotated[Path | None, typer.Option(help="Save all values as CSV.")] = None,
    data_dir: Annotated[
        Path, typer.Option("--data-dir", "-d", help="Folder with the conversations.")
    ] = paths.DATA,
    rules: Annotated[
        Path, typer.Option(envvar="LIDWISE_RULES", help="Folder of the rule files.")
    ] = BOOK,
) -> None:
    """Tell what people asked in a period, and where they go wrong. Days are days in the UK.

    Dates are written year-month-day: 2027-02-10.
    """
    from bot.figures.query import asked
    from bot.figures.report import made
    from bot.figures.terminal import show
    from bot.processes import Failed
    from bot.record.store import FILE, Record
    from bot.remarks import Remarks
    from rules.loader import BookError, load

    with plainly(UNCHANGED):
        try:
            book = load(rules)
        except BookError as error:
            raise Failed(f"The rule book has mistakes:\n{error}") from None
        query = asked(book, start, end, district, channel, change, demo)
        if not (data_dir / FILE).exists():
            raise Failed(f"No conversation is kept in {data_dir} yet. Name another --data-dir.")
        remarks = data_dir / "remarks.db"
        told = Remarks(remarks).all() if remarks.exists() else []
        found = made(query, book, Record(data_dir), told)
        show(found)
        if csv is not None:
            written(csv, found.csv())
        if html is not None:
            from bot.figures.page import figures, saved

            written(html, saved(found, book, figures(found)))


def written(path: Path, text: str) -> None:
    """Write a file, its bytes as they are. Raises `Failed` if that cannot be done."""
    from bot.processes import Failed

    try:
        path.write_bytes(text.encode())
    except OSError as error:
        raise Failed(f"{path} cannot be written: {error.strerror}.") from None
    typer.echo(f"Saved: {path}")
