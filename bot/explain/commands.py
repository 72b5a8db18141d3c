"""`lidwise explain`: what was answered, why, and by which rules."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from bot import paths
from bot.terminal import UNCHANGED, plainly


def explain(
    conversation: Annotated[
        str | None, typer.Argument(help="The name of a conversation; without it they are listed.")
    ] = None,
    on: Annotated[str | None, typer.Option(help="Those of a day, such as 2026-12-03.")] = None,
    about: Annotated[str, typer.Option(help="Those with these words, such as pizza.")] = "",
    district: Annotated[str | None, typer.Option(help="Those of a district.")] = None,
    phone: Annotated[str | None, typer.Option(help="Those of who texts from a number.")] = None,
    most: Annotated[int, typer.Option(min=1, help="How many are listed.")] = 50,
    data_dir: Annotated[
        Path, typer.Option("--data-dir", "-d", help="Folder with the conversations.")
    ] = paths.DATA,
) -> None:
    """Show a conversation step by step: what was asked, understood and answered, and by which rule.

    Without a name it finds conversations: --on 2026-12-03 --about pizza. The only one that fits is
    shown at once.
    """
    from bot.explain import search, text
    from bot.explain.story import story
    from bot.privacy.commands import conversation_of
    from bot.processes import Failed

    with plainly(UNCHANGED):
        use_book(data_dir)
        if conversation is None:
            day = None
            try:
                day = date.fromisoformat(on) if on else None
            except ValueError:
                raise Failed(
                    f"'{on}' is no date. Write it as year-month-day: 2026-12-03."
                ) from None
            who = conversation_of(data_dir, phone) if phone else None
            place = district.strip().lower() if district else None
            asked = search.Asked(day, about, place, conversation=who)
            hits, more = search.find(data_dir, asked, most)
            if not hits:
                raise Failed("No kept conversation fits. What was forgotten cannot be found.")
            if len(hits) > 1:
                typer.echo("\n".join(text.listed(hits)))
                typer.echo("There are more; ask for more with --most." if more else "")
                typer.echo("Show one: lidwise explain NAME")
                return
            conversation = hits[0].conversation
        elif on or about or district or phone:
            raise Failed("Give the name of a conversation, or what to look for, not both.")
        steps = story(data_dir, conversation)
        typer.echo(f"Conversation {conversation}")
        typer.echo("\n".join(text.lines(steps)))


def use_book(data: Path) -> None:
    """Compare with the rules that the data folder's server has in force, if it ever ran."""
    import os

    from actions.current import VARIABLE

    if (data / "book.json").exists():
        os.environ.setdefault(VARIABLE, str((data / "book.json").resolve()))
