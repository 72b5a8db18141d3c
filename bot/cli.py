"""The command line. Each command loads what it needs when it is called."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bot.access.commands import app as accounts
from bot.changes.commands import app as changes
from bot.compare.commands import compare
from bot.examples.commands import app as examples
from bot.explain import commands as explaining
from bot.figures.commands import report
from bot.privacy import commands as privacy
from bot.publish.commands import publish
from bot.review.commands import app as review
from bot.terminal import BOOK, Rules, fail, plainly
from bot.traffic.commands import demo_traffic

if TYPE_CHECKING:
    from bot.assistant import Assistant

app = typer.Typer(
    name="lidwise",
    help="One waste rule book that answers for itself: which bin, for which item, where and when.",
    epilog="Start with 'lidwise run' and open the address it prints.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)

app.add_typer(accounts, name="account")
app.command("compare")(compare)
app.add_typer(changes, name="changes")
app.add_typer(examples, name="example")
app.add_typer(review, name="review")
app.command()(publish)
app.command()(privacy.forget)
app.command()(explaining.explain)
app.command()(report)
app.command("demo-traffic")(demo_traffic)

PROJECT = Path(__file__).resolve().parents[1]
DATA = PROJECT / ".data"

DataDir = Annotated[
    Path,
    typer.Option("--data-dir", "-d", help="Folder for the model, the conversations and the logs."),
]


def say(text: str) -> None:
    """Tell the person at the terminal, at once; if that was closed, nobody."""
    with suppress(OSError):
        typer.echo(text)
        sys.stdout.flush()


@app.command()
def run(
    port: Annotated[
        int, typer.Option(min=0, max=65535, help="Port of the chat page; 0: any.")
    ] = 5005,
    host: Annotated[
        str, typer.Option(help="Address to listen on. 0.0.0.0 opens it to your network.")
    ] = "127.0.0.1",
    data_dir: DataDir = DATA,
    rules: Rules = BOOK,
) -> None:
    """Start the assistant and print its address. Ctrl-C stops it.

    It checks the rule book, trains the language model if need be, and then answers on one port:
    the chat page at /, the list of items at /items, the REST channel at /webhooks/rest/webhook and
    the state of each part at /health. A changed rule file comes into force while it runs.
    """
    from bot import logs, supervisor

    logs.plain()
    with plainly():
        supervisor.run(host, port, data_dir, rules, say)


@app.command()
def train(
    data_dir: DataDir = DATA,
    rules: Rules = BOOK,
    if_needed: Annotated[
        bool, typer.Option("--if-needed", help="Only if the model is older than its sources.")
    ] = False,
) -> None:
    """Train the language model, even if the one there still fits. A rule needs no training."""
    from bot import supervisor, training

    if if_needed and training.is_current(data_dir):
        say("The language model is up to date.")
        return
    with plainly():
        say("Checking the rule book…")
        supervisor.prepare_book(data_dir, rules, say)
        say("Training the language model (about a minute)…")
        training.train_apart(data_dir)
    say(f"Done: {training.model_file(data_dir)}")


@app.command()
def ask(
    question: Annotated[str, typer.Argument(help="What you want to know, in your own words.")],
    district: Annotated[str | None, typer.Option(help="pellbrook, oxmere or tarnside.")] = None,
    on: Annotated[
        str | None, typer.Option(help="The day to answer for, such as 2027-02-10.")
    ] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print the answer a program reads, and ask nothing back.")
    ] = False,
    sms: Annotated[bool, typer.Option("--sms", help="Word it as a text message.")] = False,
    data_dir: DataDir = DATA,
    rules: Rules = BOOK,
) -> None:
    """Ask one question here in the terminal. It takes some seconds: the framework loads first."""
    with plainly():
        metadata = asked_for(district, on, rules)
        if sms:
            metadata["channel"] = "sms"
        answering = assistant(data_dir, rules)
        from bot.asking import answer_one

        answer_one(answering, question, metadata, as_json, say)


def asked_for(district: str | None, on: str | None, rules: Path) -> dict[str, str]:
    """The district and the day as the channel says them; a wrong one ends the command."""
    from datetime import date

    from rules import load

    metadata: dict[str, str] = {}
    if on is not None:
        try:
            metadata["on"] = date.fromisoformat(on).isoformat()
        except ValueError:
            fail(f"'{on}' is no date. Write it as year-month-day: 2027-02-10.", 2)
    if district is not None:
        known = load(rules).districts
        name = district.strip().lower()
        if name not in known:
            fail(f"There is no district '{district}'. There are: {', '.join(known)}.", 2)
        metadata["district"] = name
    return metadata


def assistant(data_dir: Path, rules: Path) -> Assistant:
    """The assistant in this process, trained first if need be."""
    from actions.current import VARIABLE, store
    from bot import logs, training
    from rules.loader import load_texts, read_files

    if rules != BOOK:
        texts = read_files(rules)
        load_texts(texts)
        store(texts, data_dir / "asked-book.json")
        os.environ[VARIABLE] = str((data_dir / "asked-book.json").resolve())
    if not training.is_current(data_dir):
        typer.echo("Training the language model first (about a minute)…", err=True)
        training.train_apart(data_dir)
    logs.configure()
    from bot.assistant import Assistant

    return Assistant(training.model_file(data_dir))


@app.command()
def check(
    book: Annotated[
        Path, typer.Option("--book", "--rules", help="Folder of the rule files.")
    ] = BOOK,
    data_dir: DataDir = DATA,
) -> None:
    """Prove the rule book: one safe answer for every item, district, day and condition.

    The examples beside the book are tried too: single answers, and conversations where there is a
    language model. Every mistake is told with its file, its line and a cure. Ends with status 1 if
    there is one.
    """
    from bot.report import report

    with plainly():
        if not report(book, say, data_dir):
            raise typer.Exit(1)


@app.command()
def play(
    file: Annotated[
        Path, typer.Argument(help="A conversation, such as those in transcripts_demo.")
    ],
    data_dir: DataDir = DATA,
    rules: Rules = BOOK,
) -> None:
    """Play a conversation from a file and say whether each turn went as the file tells."""
    from bot import play as player

    with plainly():
        transcript = player.read(file)
        there: Callable[..., list[dict[str, object]]] = assistant(data_dir, rules).say
        say(
            f"{transcript['about']} ({transcript['district'] or 'no district'}, {transcript['on']})"
        )
        matched = True
        for message, text, wrong in player.play(transcript, there, file.stem):
            say(f"\n> {message}\n{text}")
            say("\n".join(f"  ✗ {w}" for w in wrong) if wrong else "  ✓ as told")
            matched = matched and not wrong
    if not matched:
        raise typer.Exit(1)


@app.command()
def text(
    texts: Annotated[
        list[str] | None, typer.Argument(help="Text messages to send; none: type them.")
    ] = None,
    number: Annotated[
        str, typer.Option("--from", help="The invented number they come from.")
    ] = "07700 900123",
    url: Annotated[
        str, typer.Option("--url", help="Address of the running server.")
    ] = "http://127.0.0.1:5005",
    data_dir: DataDir = DATA,
) -> None:
    """Text the running assistant as if by phone, without one. 'lidwise run' must be running.

    It calls the webhook for text messages as a gateway would, and shows each reply with its length.
    """
    with plainly():
        from bot import texting

        texting.talk(texting.Gateway(data_dir, url), number, texts or [], say)


@app.command()
def version() -> None:
    """Print the version."""
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as installed

    try:
        say(f"lidwise {installed('lidwise')}")
    except PackageNotFoundError:
        say("lidwise (not installed)")


if __name__ == "__main__":
    app()
