"""What `lidwise demo-traffic` shows: how far it is, what it made, where to look."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table

from bot import paths
from bot.traffic.oracle import Meant, tally
from bot.traffic.plan import Plan
from bot.traffic.simulator import Done

CONSOLE = Console(highlight=False)
MOST = 60
"""Differences that are listed."""


@contextmanager
def progress(plan: Plan) -> Iterator[Callable[[int, int], None]]:
    """A bar of people who are done."""
    shown = Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.completed}/{task.total} people, {task.fields[sent]} messages"),
        TimeRemainingColumn(),
        console=CONSOLE,
        transient=True,
        disable=not CONSOLE.is_terminal,
    )
    CONSOLE.print(
        f"{plan.people:,} simulated residents ask between {plan.start} and {plan.end} "
        f"(seed {plan.seed})."
    )
    with shown:
        task = shown.add_task("They are talking", total=plan.people, sent=0)

        def tell(sent: int, done: int) -> None:
            shown.update(task, completed=done, sent=sent)

        yield tell


def made(done: Done, plan: Plan) -> None:
    """The numbers of a run."""
    messages = sum(done.messages.values())
    table = Table("channel", "conversations", "messages", box=None, pad_edge=False)
    for channel in sorted(done.messages):
        counts = (f"{done.conversations[channel]:,}", f"{done.messages[channel]:,}")
        table.add_row(channel, *counts)
    table.add_row("all", f"{sum(done.conversations.values()):,}", f"{messages:,}")
    right_aligned(table)
    CONSOLE.print(table)
    CONSOLE.print("Answers: " + listed(done.kinds), soft_wrap=True)
    CONSOLE.print("Remarks: " + (listed(done.remarks) or "none"))
    rate = messages / done.seconds if done.seconds else 0.0
    CONSOLE.print(f"It took {done.seconds:.0f} s, {rate:.0f} messages a second.")
    if done.unanswered:
        CONSOLE.print(f"{done.unanswered} messages had no answer; the lines above say why.")


def truth(done: Done) -> None:
    """How often the answer was the one the rules give for what the person meant."""
    table = Table("asked about", "right", "other", "left open", "right of answered")
    for sort, counts in sorted(tally(done.meant).items()):
        answered = counts["right"] + counts["wrong"]
        share = f"{counts['right'] / answered:.1%}" if answered else "-"
        row = (str(counts[v]) for v in ("right", "wrong", "open"))
        table.add_row(sort, *row, share)
    right_aligned(table)
    CONSOLE.print(table)
    wrong = [m for m in done.meant if m.verdict == "wrong"]
    for meant in wrong[:MOST]:
        CONSOLE.print(escape(difference(meant)), soft_wrap=True)
    if len(wrong) > MOST:
        CONSOLE.print(f"… and {len(wrong) - MOST} more.")


def difference(meant: Meant) -> str:
    """One answer that was not the rules' own."""
    of = f" [{meant.want.name}]" if meant.want else ""
    said = " / ".join(repr(s) for s in meant.said)
    return f"{meant.sort}{of}: {said}: {meant.got}, the rules: {meant.right}"


def where_to_look(data: Path) -> None:
    """What to do next."""
    where = "" if data == paths.DATA else f" --data-dir {data}"
    CONSOLE.print(
        f"Look at it: 'lidwise run{where}' and open /officer, or 'lidwise review{where}'.\n"
        f"Take it away again: 'lidwise demo-traffic --remove{where}'.",
        soft_wrap=True,
    )


def listed(counts: Counter[str]) -> str:
    """Counts in words, the most first."""
    return ", ".join(f"{name} {n:,}" for name, n in sorted(counts.items(), key=by_count))


def by_count(pair: tuple[str, int]) -> tuple[int, str]:
    """The most first, then by name."""
    return -pair[1], pair[0]


def right_aligned(table: Table) -> None:
    """Set all columns but the first to the right."""
    for column in table.columns[1:]:
        column.justify = "right"
