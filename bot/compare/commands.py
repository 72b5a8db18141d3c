"""`lidwise compare`: which answers differ between two books, or two days of one."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from bot import paths
from bot.terminal import BOOK, Rules

if TYPE_CHECKING:
    from bot.compare.sides import Side
    from rules.compare import Comparison

WHAT = (
    "A folder of rule files, one rule file, a git revision, the version of a kept book, a day such "
    "as 2027-02-01 (the present rules on it), or 'now' (the present rules)."
)


def wrong(text: str) -> NoReturn:
    """End with what is wrong and status 2."""
    typer.echo(text, err=True)
    raise typer.Exit(2)


def compare(
    old: Annotated[str, typer.Argument(help=WHAT)],
    new: Annotated[str, typer.Argument(help="The same.")] = "now",
    as_json: Annotated[bool, typer.Option("--json", help="Print it for programs.")] = False,
    district: Annotated[str | None, typer.Option(help="Only this district.")] = None,
    item: Annotated[str | None, typer.Option(help="Only this item, by a name or its id.")] = None,
    on: Annotated[str | None, typer.Option(help="Take both as on this day.")] = None,
    since: Annotated[
        str | None, typer.Option(help="Compare every day from this one on; without it, today.")
    ] = None,
    exit_code: Annotated[
        bool, typer.Option("--exit-code", help="End with status 1 if anything differs.")
    ] = False,
    data_dir: Annotated[
        Path, typer.Option("--data-dir", "-d", help="Folder with the kept books.")
    ] = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """Tell which answers differ between OLD and NEW: for which items, where, and from when.

    Ends with status 0 whether or not anything differs, and with 2 if something cannot be read.
    """
    from bot.compare.sides import compared, side
    from bot.processes import Failed

    try:
        days = day_of(on), day_of(since)
        sides = side(old, rules, data_dir), side(new, rules, data_dir)
        if days[0] and (sides[0].on or sides[1].on):
            raise Failed("--on goes with rule files, not with a day as OLD or NEW.")
        told = compared(
            *sides,
            on=days[0],
            since=days[1] or date.today(),
            district=district_of(district, sides),
            item=item_of(item, sides),
        )
    except Failed as failed:
        wrong(str(failed))
    except PermissionError as error:
        wrong(f"{error.filename}: no permission to read it.")
    except KeyboardInterrupt:
        typer.echo("Stopped.", err=True)
        raise typer.Exit(130) from None
    if as_json:
        typer.echo(json.dumps(told.to_json(), ensure_ascii=False, indent=1))
    else:
        for line in report(told, sides):
            typer.echo(line)
    if exit_code and told:
        raise typer.Exit(1)


def day_of(text: str | None) -> date | None:
    """A day that an option names. Raises `Failed` if it is none."""
    from bot.processes import Failed

    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        raise Failed(f"'{text}' is no day. Write it as year-month-day: 2027-02-10.") from None


def district_of(text: str | None, sides: tuple[Side, Side]) -> str | None:
    """A district by its id or its name. Raises `Failed` if neither book has it."""
    from bot.processes import Failed

    if text is None:
        return None
    known = {**sides[0].book.districts, **sides[1].book.districts}
    named = {d.name.lower(): d.id for d in known.values()}
    found = text.strip().lower()
    if found not in known and found not in named:
        raise Failed(f"There is no district '{text}'. There are: {', '.join(known)}.")
    return found if found in known else named[found]


def item_of(text: str | None, sides: tuple[Side, Side]) -> str | None:
    """An item by its id or one of its names. Raises `Failed` if neither book has it."""
    from bot.processes import Failed

    if text is None:
        return None
    for one in (sides[1].book, sides[0].book):
        if text in one.items:
            return text
        found = one.named(text)
        if found:
            return found
    raise Failed(f"Neither book has an item '{text}'. Use a name as it stands in the rule files.")


def report(told: Comparison, sides: tuple[Side, Side]) -> list[str]:
    """What is compared, every difference, and how many there are."""
    from rules.compare.words import day

    head = f"From {sides[0].name} to {sides[1].name}"
    if told.since:
        head += f", from {day(told.since)} on"
    elif told.old_on and told.new_on and not (sides[0].on and sides[1].on):
        head += f", both on {day(told.new_on)}"
    lines = told.lines()
    return [f"{head}.", "", *(lines or ["Nothing differs."])]
