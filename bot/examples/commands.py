"""`lidwise example`: conversations with their right answers, in the terminal."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from bot import paths
from bot.changes.commands import Data, store
from bot.terminal import BOOK, UNCHANGED, Rules, plainly, who

app = typer.Typer(help="Conversations with their right answers.", no_args_is_help=True)


@app.command()
def save(
    conversation: Annotated[str, typer.Argument(help="The conversation's id in the record.")],
    name: Annotated[str, typer.Option(help="Two or three words for it.")] = "",
    draft: Annotated[
        Path | None,
        typer.Option("--draft", help="Only write it to this file, to correct it and add it."),
    ] = None,
    data_dir: Data = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """Propose a conversation as an example, with the answers that were given."""
    from bot.examples import making
    from bot.processes import Failed
    from bot.record.store import Record

    with plainly(UNCHANGED):
        transcript = making.from_record(Record(data_dir).of(conversation))
        text = making.text_of(transcript)
        if draft is not None:
            try:
                with draft.open("x", encoding="utf-8") as file:
                    file.write(text)
            except OSError as error:
                raise Failed(f"{draft} cannot be written: {error.strerror}.") from None
            typer.echo(f"Correct {draft}, then: lidwise example add {draft}")
            return
        made = making.propose(store(data_dir, rules), name or transcript["shows"], text, by=who())
        typer.echo(f"Proposed. Read it: lidwise changes show {made.id}")


@app.command()
def add(
    file: Annotated[Path, typer.Argument(help="A conversation as in transcripts_demo.")],
    name: Annotated[str, typer.Option(help="Another name than the file's.")] = "",
    data_dir: Data = paths.DATA,
    rules: Rules = BOOK,
) -> None:
    """Propose a conversation from a file as an example."""
    from bot import play
    from bot.examples import making

    with plainly(UNCHANGED):
        play.read(file)
        text = file.read_text(encoding="utf-8")
        made = making.propose(store(data_dir, rules), name or file.stem, text, by=who())
        typer.echo(f"Proposed. Read it: lidwise changes show {made.id}")


@app.command("list")
def all_examples(rules: Rules = BOOK) -> None:
    """List the examples."""
    from bot.examples import files
    from bot.examples.conversations import form

    with plainly(UNCHANGED):
        texts, _ = files.read(rules)
        documents, wrong = form(texts)
        for name, document in documents.items():
            typer.echo(f"{name}  {document.data['about']}")
        for mistake in wrong:
            typer.echo(str(mistake), err=True)
        if not documents:
            typer.echo("There is no conversation among the examples yet.")
