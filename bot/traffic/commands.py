"""`lidwise demo-traffic`: simulated residents, for a newcomer to have something to look at."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Annotated

import typer

from bot import paths
from bot.terminal import BOOK, Rules
from bot.traffic.plan import Plan

LONGEST = 400
"""Days of the longest period."""
DAYS = 42


def demo_traffic(
    people: Annotated[int, typer.Option(min=1, max=20_000, help="How many people ask.")] = 600,
    days: Annotated[
        int | None, typer.Option(min=1, max=LONGEST, help="Days up to yesterday. [default: 42]")
    ] = None,
    start: Annotated[
        str | None, typer.Option("--from", help="First day, such as 2027-01-11; with --to.")
    ] = None,
    end: Annotated[str | None, typer.Option("--to", help="Last day.")] = None,
    seed: Annotated[
        int, typer.Option(min=0, help="Same seed, days and rules: the same messages and answers.")
    ] = 1,
    truth: Annotated[
        bool, typer.Option("--truth", help="Print how often the answer was the rules' own.")
    ] = False,
    remove: Annotated[
        bool, typer.Option("--remove", help="Take all demo traffic away again, and nothing else.")
    ] = False,
    data_dir: Annotated[
        Path, typer.Option("--data-dir", "-d", help="Folder for the model and the conversations.")
    ] = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """Let simulated residents talk to the assistant, so that there is something to look at.

    They really talk to it: every answer comes from the rule files. What they leave is marked as
    demo traffic. 'lidwise run' may run on the same folder at the same time.
    """
    from bot.cli import assistant
    from bot.terminal import plainly

    with plainly():
        if remove:
            taken_away(data_dir)
            return
        plan = planned(seed, people, days, start, end)
        typer.echo("Loading the assistant (some seconds)…")
        talker = assistant(data_dir, rules)
        from bot.record import books
        from bot.traffic import showing
        from bot.traffic.simulator import Simulator
        from rules.loader import load_texts, read_files

        texts = read_files(rules)
        book = load_texts(texts)
        books.keep(data_dir, texts, book.version)
        simulator = Simulator(talker, data_dir, book, plan)
        with showing.progress(plan) as tell:
            done = simulator.run(tell)
        showing.made(done, plan)
        if truth:
            showing.truth(done)
        showing.where_to_look(data_dir)


def planned(seed: int, people: int, days: int | None, start: str | None, end: str | None) -> Plan:
    """The period that was asked for. Raises `Failed` if it is none."""
    from bot.processes import Failed

    if (start is None) != (end is None):
        raise Failed("Give both days: --from 2027-01-11 --to 2027-02-21.")
    if start is None or end is None:
        last = date.today() - timedelta(days=1)
        return Plan(seed, people, last - timedelta(days=(days or DAYS) - 1), last)
    if days is not None:
        raise Failed("Give either --days, or --from and --to.")
    first, last = day(start), day(end)
    if not 0 <= (last - first).days < LONGEST:
        raise Failed(f"--to must be on or after --from, and within {LONGEST} days of it.")
    return Plan(seed, people, first, last)


def day(text: str) -> date:
    """A day as typed. Raises `Failed`."""
    from bot.processes import Failed

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Failed(f"'{text}' is no date. Write it as year-month-day: 2027-02-10.") from None


def taken_away(data: Path) -> None:
    """Remove, and say what."""
    from bot.figures.figure import amount
    from bot.traffic.removal import remove

    gone = remove(data)
    if not (gone.conversations or gone.answers or gone.remarks):
        typer.echo("There is no demo traffic here.")
        return
    typer.echo(
        f"Gone: {amount(gone.conversations, 'conversation')} with "
        f"{amount(gone.answers, 'answer')}, and {amount(gone.remarks, 'remark')}. "
        "Nothing else was touched."
    )
