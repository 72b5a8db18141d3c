"""`lidwise review`: the review list in the terminal."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from bot import paths
from bot.terminal import BOOK, UNCHANGED, Rules, plainly, who

if TYPE_CHECKING:
    from bot.review.board import Board
    from bot.review.listing import Filter, Group

app = typer.Typer(
    help="What the assistant could not answer well: look at it, accept it, or dismiss it.",
    invoke_without_command=True,
)

Data = Annotated[Path, typer.Option("--data-dir", "-d", help="Folder with the conversations.")]
Number = Annotated[
    str, typer.Argument(metavar="N", help="Its number in the list 'lidwise review', or its key.")
]
Json = Annotated[bool, typer.Option("--json", help="Print it for a program.")]
By = Annotated[str, typer.Option("--by", help="Who decides; otherwise the name you work under.")]


def board_of(data: Path, rules: Path) -> Board:
    """The review list of a data folder, read against the rule files."""
    from bot.changes.store import Changes
    from bot.review.board import Board
    from bot.review.known import known_to
    from rules import load

    book = load(rules)
    return Board(data, rules, Changes(data, rules), lambda: known_to(book))


def found(board: Board, number: str) -> Group:
    """The group with a number in the list that is shown without any option, or with a key."""
    from bot.processes import Failed
    from bot.review.listing import Filter, wanted

    groups = board.groups()
    if not number.isdigit():
        if group := next((g for g in groups if g.key == number), None):
            return group
        raise Failed(f"There is no entry with the key '{number}'. See 'lidwise review'.")
    listed = wanted(groups, Filter())
    if not 1 <= int(number) <= len(listed):
        raise Failed(f"There is no entry {number}. The list has {len(listed)}.")
    key = listed[int(number) - 1].key
    return next(g for g in groups if g.key == key)


@app.callback()
def listed(
    context: typer.Context,
    why: Annotated[
        str | None,
        typer.Option(help="unknown, unclear, unsettled, unanswered, wrong, missing or failed."),
    ] = None,
    channel: Annotated[str | None, typer.Option(help="Only this channel.")] = None,
    district: Annotated[str | None, typer.Option(help="Only this district.")] = None,
    start: Annotated[str | None, typer.Option("--from", help="From this day on.")] = None,
    end: Annotated[str | None, typer.Option("--to", help="Up to this day.")] = None,
    state: Annotated[
        str, typer.Option(help="open, waiting, later, dismissed, mended or any.")
    ] = "open",
    order: Annotated[str, typer.Option(help="asked, hazards or latest.")] = "asked",
    as_json: Json = False,
    data_dir: Data = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """List what to look at, the same thing in different words together, most asked first."""
    if context.invoked_subcommand:
        return
    with plainly(UNCHANGED, ValueError):
        wish = filter_of(why, channel, district, start, end, state, order)
        board = board_of(data_dir, rules)
        from bot.review.listing import wanted

        groups = board.groups()
        shown = wanted(groups, wish)
        if as_json:
            return typer.echo(
                json.dumps([plain(g, board) for g in shown], ensure_ascii=False, indent=2)
            )
        print_list(shown, {g.key: n for n, g in enumerate(wanted(groups, filter_of()), 1)})


def filter_of(
    why: str | None = None,
    channel: str | None = None,
    district: str | None = None,
    start: str | None = None,
    end: str | None = None,
    state: str = "open",
    order: str = "asked",
) -> Filter:
    """The filter that is asked for. Raises `Failed` for a word it does not know."""
    from bot.processes import Failed
    from bot.review.entry import WHYS
    from bot.review.listing import ORDERS, STATES, Filter

    def one_of(name: str, value: str | None, known: Sequence[str]) -> None:
        if value is not None and value not in known:
            raise Failed(f"--{name} '{value}' is none of: {', '.join(known)}.")

    def day(name: str, value: str | None) -> date | None:
        try:
            return date.fromisoformat(value) if value else None
        except ValueError:
            raise Failed(
                f"--{name} '{value}' is no date. Write it as year-month-day: 2027-02-10."
            ) from None

    one_of("why", why, list(WHYS))
    one_of("state", state, [*STATES, "any"])
    one_of("order", order, list(ORDERS))
    kept = None if state == "any" else state
    return Filter(why, channel, district, day("from", start), day("to", end), kept, order)


def print_list(groups: Sequence[Group], numbers: dict[str, int]) -> None:
    """The list as a table."""
    from rich.console import Console
    from rich.table import Table

    from bot.review.entry import WHYS

    if not groups:
        typer.echo("There is nothing to look at.")
        return
    table = Table(box=None, pad_edge=False, header_style="bold")
    for name, side in (("N", "right"), ("asked", "right"), ("what", "left"), ("why", "left")):
        table.add_column(name, justify=side)  # type: ignore[arg-type]
    table.add_column("last")
    for group in groups:
        whys = ", ".join(f"{WHYS[w]} ({n})" for w, n in group.whys)
        what = group.title + (f"  [hazard: {group.hazard}]" if group.hazard else "")
        table.add_row(
            str(numbers.get(group.key, "")), str(group.asked), text(what), whys, group.last
        )
    Console(highlight=False, soft_wrap=False).print(table)
    typer.echo("'lidwise review show N' tells more of one.")


def text(words: str) -> Any:
    """Words as they are, without markup."""
    from rich.text import Text

    return Text(words)


def plain(group: Group, board: Board) -> dict[str, Any]:
    """A group for a program."""
    from bot.review.nearest import nearest_in

    book = board.known().book
    near = nearest_in(book).of(group.forms) if group.kind == "words" else []
    decision = group.decision
    return {
        "key": group.key,
        "kind": group.kind,
        "title": group.title,
        "asked": group.asked,
        "state": group.state,
        "note": group.note,
        "whys": dict(group.whys),
        "districts": dict(group.counts("district")),
        "channels": dict(group.counts("channel")),
        "first": group.first,
        "last": group.last,
        "demo": group.demo,
        "hazard": group.hazard,
        "item": group.item,
        "condition": group.condition,
        "words": dict(group.words()),
        "nearest": [{"item": n.item, "name": n.name, "because": n.because} for n in near],
        "decision": None
        if decision is None
        else {
            "state": decision.state,
            "at": decision.at,
            "by": decision.by,
            "because": decision.because,
            "change": decision.change,
        },
        "entries": [
            {
                "at": e.at,
                "question": e.question,
                "said": e.said,
                "whys": list(e.whys),
                "district": e.district,
                "channel": e.channel,
                "conversation": e.conversation,
                "note": e.note,
                "destination": e.destination,
                "rule": e.rule,
                "mended": group.mended.get(e.id),
            }
            for e in group.entries
        ],
    }


@app.command()
def show(
    number: Number, as_json: Json = False, data_dir: Data = paths.DATA, rules: Rules = BOOK
) -> None:
    """Tell all of one entry: the questions, and the nearest items with what they answer."""
    with plainly(UNCHANGED, ValueError):
        board = board_of(data_dir, rules)
        group = found(board, number)
        if as_json:
            return typer.echo(json.dumps(plain(group, board), ensure_ascii=False, indent=2))
        from bot.review.told import told

        for line in told(group, board.known().book):
            typer.echo(line)


@app.command()
def name(
    number: Number,
    item: Annotated[str, typer.Argument(help="The item, by its id or its name.")],
    names: Annotated[
        list[str] | None, typer.Option("--name", help="A name to add; otherwise the words used.")
    ] = None,
    by: By = "",
    data_dir: Data = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """Propose the words of an entry as other names of an item."""
    with plainly(UNCHANGED, ValueError):
        from bot.review.accept import suggested

        board = board_of(data_dir, rules)
        group = found(board, number)
        change = board.name(group, item, names or suggested(group), by or who())
        proposed(change)


@app.command("item")
def new_item(
    number: Number,
    called: Annotated[str, typer.Option("--name", help="What the answer calls it.")],
    file: Annotated[str, typer.Option(help="The rule file, such as items/home.yml.")],
    goes: Annotated[str, typer.Option(help="A stream or a destination code.")] = "",
    like: Annotated[str, typer.Option(help="Or the item that decides, by id or name.")] = "",
    also: Annotated[list[str] | None, typer.Option(help="Another name.")] = None,
    why: Annotated[str, typer.Option(help="The reason, as a resident understands it.")] = "",
    prepare: Annotated[list[str] | None, typer.Option(help="What to do first.")] = None,
    caution: Annotated[str, typer.Option(help="A warning.")] = "",
    source: Annotated[str, typer.Option(help="What it rests on.")] = "",
    hazard: Annotated[str, typer.Option(help="The kind of danger, see dangers.yml.")] = "",
    plural: Annotated[bool, typer.Option("--plural", help="The name is of several.")] = False,
    by: By = "",
    data_dir: Data = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """Propose a new item for an entry. Conditions are written in the rule file afterwards."""
    with plainly(UNCHANGED, ValueError):
        from bot.review.accept import NewItem, item_named

        board = board_of(data_dir, rules)
        book = board.known().book
        new = NewItem(
            called,
            tuple(also or ()),
            file,
            goes,
            item_named(book, like) if like else "",
            why,
            tuple(prepare or ()),
            caution,
            source,
            hazard,
            plural,
        )
        proposed(board.item(found(board, number), new, by or who()))


@app.command()
def dismiss(
    number: Number,
    because: Annotated[str, typer.Option("--because", help="Why no rule is needed.")],
    by: By = "",
    data_dir: Data = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """Say that an entry needs no rule. It comes back if it is asked for much more."""
    decided(number, "dismissed", by, data_dir, rules, because)


@app.command()
def later(number: Number, by: By = "", data_dir: Data = paths.DATA, rules: Rules = BOOK) -> None:
    """Put an entry off for 14 days."""
    decided(number, "later", by, data_dir, rules)


@app.command()
def reopen(number: Number, by: By = "", data_dir: Data = paths.DATA, rules: Rules = BOOK) -> None:
    """Take up again what was dismissed or put off; name it by its key."""
    decided(number, "reopened", by, data_dir, rules)


def decided(number: str, state: str, by: str, data: Path, rules: Path, because: str = "") -> None:
    """Keep a decision and say so."""
    with plainly(UNCHANGED, ValueError):
        board = board_of(data, rules)
        group = found(board, number)
        board.decide(group, state, by or who(), because)
        said = {"dismissed": "needs no rule", "later": "is put off", "reopened": "is in the list"}
        typer.echo(f"'{group.title}' {said[state]}. Its key is {group.key}.")


def proposed(change: str) -> None:
    """What comes after a proposal."""
    typer.echo(f"This is change {change}. Nothing is in force yet. Read and apply it:")
    typer.echo(f"  lidwise changes show {change}")
