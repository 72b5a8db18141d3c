"""`lidwise changes`: the proposed changes, in the terminal."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bot import paths
from bot.terminal import BOOK, UNCHANGED, Rules, plainly, who

if TYPE_CHECKING:
    from bot.changes.change import Change
    from bot.changes.judging import Judge, Judgement
    from bot.changes.store import Changes

app = typer.Typer(
    help="Proposed changes to the rules: read, apply, take back.", no_args_is_help=True
)

Id = Annotated[str, typer.Argument(help="The change's id, as 'lidwise changes list' tells it.")]
Data = Annotated[Path, typer.Option("--data-dir", "-d", help="Folder with the proposed changes.")]


def store(data: Path, rules: Path) -> Changes:
    """The changes."""
    from bot.changes.store import Changes

    return Changes(data, rules)


def judge(changes: Changes, data: Path, change: Change) -> Judge:
    """What judges a change here; it has the language model if that is needed and there."""
    from bot import training
    from bot.changes.judging import Judge
    from bot.changes.places import split
    from bot.examples.files import conversations

    agent = None
    asked = change.about.get("questions") or conversations(split(changes.texts(change))[1])
    if asked and training.is_current(data):
        from bot import logs

        logs.configure()
        from bot.assistant import Assistant

        agent = Assistant(training.model_file(data)).agent
    return Judge(changes, agent)


def show_change(changes: Changes, data: Path, change: Change) -> tuple[Judge, Judgement] | None:
    """Print a change, and what it would do if it still waits."""
    typer.echo(f"{change.title}\n{change.state}, made by {change.by} on {change.at[:10]}\n")
    typer.echo(change.diff())
    if change.state != "proposed":
        return None
    stale = changes.stale(change)
    if stale:
        typer.echo(
            f"Changed since this was proposed: {', '.join(stale)}. "
            f"Make it again on today's files: lidwise changes again {change.id}"
        )
        return None
    judging = judge(changes, data, change)
    found = judging.of(change)
    tell(found)
    return judging, found


def tell(found: Judgement) -> None:
    """Print what was found out about a change."""
    for mistake in found.mistakes:
        typer.echo(str(mistake))
    if found.errors:
        number = len(found.errors)
        typer.echo(f"{number} mistake{'' if number == 1 else 's'}: it cannot be applied.")
    else:
        typer.echo(
            f"The check passes: {found.proved.combinations:,} combinations, "
            f"{found.proved.cases} single examples."
        )
    typer.echo(played(found.conversations, found.played and found.played.turns))
    if not found.errors:
        typer.echo("What residents will be told differently:")
        for line in found.proved.lines or ("No answer changes.",):
            typer.echo(f"  {line}")
    for t in found.tried:
        where = f" ({t.district})" if t.district else ""
        typer.echo(f"\n> {t.say}{where}\n  now:  {t.before_text}\n  then: {t.after_text}")


def played(number: int, turns: int | None) -> str:
    """What became of the conversations among the examples."""
    if not number:
        return "No conversation is among the examples."
    noun = "conversation" if number == 1 else "conversations"
    if turns is None:
        return (
            f"{number} {noun} not played: they need the language model and rules without mistakes."
        )
    return f"{number} {noun} played, {turns} {'message' if turns == 1 else 'messages'}."


@app.command("list")
def listed(data_dir: Data = paths.DATA, rules: Rules = BOOK) -> None:
    """List the changes, the newest first."""
    with plainly(UNCHANGED):
        found = store(data_dir, rules).all()
        for change in found:
            typer.echo(f"{change.id}  {change.state:8}  {change.title} ({change.by})")
        if not found:
            typer.echo("There is no change yet.")


@app.command()
def show(id: Id, data_dir: Data = paths.DATA, rules: Rules = BOOK) -> None:
    """Show a change: the difference, the check, and what residents would be told differently."""
    with plainly(UNCHANGED):
        changes = store(data_dir, rules)
        change = changes.get(id)
        show_change(changes, data_dir, change)
        if change.state == "proposed":
            typer.echo(f"\nTo apply just this: lidwise changes apply {id} --yes {change.digest}")


@app.command()
def apply(
    id: Id,
    yes: Annotated[
        str | None,
        typer.Option("--yes", help="Apply without asking, if the difference has this digest."),
    ] = None,
    data_dir: Data = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """Show a change and, if you say yes, write it to the rule files."""
    from bot.processes import Failed

    with plainly(UNCHANGED):
        changes = store(data_dir, rules)
        change = changes.proposed(id)
        if yes is not None:
            changes.apply(id, yes, who(), judge(changes, data_dir, change).faults)
        else:
            seen = show_change(changes, data_dir, change)
            if seen is None or seen[1].errors:
                raise typer.Exit(1)
            if not sys.stdin.isatty():
                raise Failed(
                    "There is no terminal to ask. Read the difference, then use: "
                    f"--yes {change.digest}"
                )
            if input("\nApply it? Type yes: ").strip().lower() not in ("yes", "y"):
                typer.echo("Nothing was changed.")
                return
            changes.apply(id, change.digest, who(), seen[0].faults)
        typer.echo("Applied. A running assistant answers by it in a moment.")


@app.command()
def drop(id: Id, data_dir: Data = paths.DATA, rules: Rules = BOOK) -> None:
    """Put a change away."""
    with plainly(UNCHANGED):
        store(data_dir, rules).drop(id, who())
        typer.echo("Dropped. The rules stay as they are.")


@app.command()
def again(id: Id, data_dir: Data = paths.DATA, rules: Rules = BOOK) -> None:
    """Make a change again on the rule files as they are now."""
    with plainly(UNCHANGED):
        store(data_dir, rules).again(id, who())
        typer.echo(f"Made again. Read it: lidwise changes show {id}")


@app.command()
def join(
    id: Id,
    other: Annotated[str, typer.Argument(help="The change to put into it.")],
    data_dir: Data = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """Put another change into one, such as an example into the rule's that mends it."""
    with plainly(UNCHANGED):
        store(data_dir, rules).join(id, other, who())
        typer.echo(f"Both are one now. Read it: lidwise changes show {id}")


@app.command()
def undo(id: Id, data_dir: Data = paths.DATA, rules: Rules = BOOK) -> None:
    """Propose to take an applied change back."""
    with plainly(UNCHANGED):
        made = store(data_dir, rules).undo(id, who())
        typer.echo(f"Proposed. Read it: lidwise changes show {made.id}")
