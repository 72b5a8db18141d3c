"""`lidwise publish`: writes all that is published from the rule files to a folder."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from bot import paths
from bot.terminal import BOOK, Rules


def publish(
    out: Annotated[
        Path, typer.Argument(help="The folder to write to; empty, or published before.")
    ],
    on: Annotated[
        str | None, typer.Option(help="The day to publish for, such as 2027-02-01; else today.")
    ] = None,
    district: Annotated[str | None, typer.Option(help="Only this district; else all.")] = None,
    data_dir: Annotated[
        Path, typer.Option("--data-dir", "-d", help="Folder where it is noted what was published.")
    ] = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """Write the A to Z, the printed guide, the bin tags and the council page's questions.

    The same rules and the same day give the same bytes. The rule files are checked first. Nothing
    in the folder that this program did not write is touched.
    """
    from bot.terminal import UNCHANGED, plainly

    with plainly(UNCHANGED):
        for line in published(out, on, district, data_dir, rules):
            typer.echo(line)


def published(
    out: Path, on: str | None, district: str | None, data: Path, rules: Path
) -> list[str]:
    """Do it, and return what to tell. Raises `Failed`."""
    from bot.checking import judge
    from bot.processes import Failed
    from bot.publish import files, folder, noted

    try:
        day = date.fromisoformat(on) if on else date.today()
    except ValueError:
        raise Failed(f"'{on}' is no date. Write it as year-month-day: 2027-02-10.") from None
    verdict = judge(rules, date.today())
    if verdict.book is None or not verdict.passed:
        told = "\n".join(f"  {m}" for m in verdict.errors)
        raise Failed(f"The rule files have mistakes, so nothing was published:\n{told}")
    book = verdict.book
    chosen = list(book.districts)
    if district is not None:
        chosen = [district.strip().lower()]
        if chosen[0] not in book.districts:
            known = ", ".join(book.districts)
            raise Failed(f"There is no district '{district}'. There are: {known}.")
    if day < book.scheme.starts:
        raise Failed(f"The rules begin on {book.scheme.starts}. Choose that day or a later one.")
    folder.ours(out)
    made = files.files(book, day, chosen)
    done = folder.write(out, made, book, day, chosen)
    noted.note(data, book, day, chosen, files.sums(made), "the command line")
    return [
        f"Published from the rules {book.version}, as on {day}: {len(made)} files in {out}",
        f"{done.changed} changed, {done.same} as before, {done.gone} removed. "
        f"Open {out / files.INDEX}",
    ]
