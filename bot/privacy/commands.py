"""`lidwise forget`: takes out of the data folder what was said."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from bot import paths
from bot.terminal import UNCHANGED, plainly

Data = Annotated[Path, typer.Option("--data-dir", "-d", help="Folder with the conversations.")]


def forget(
    conversation: Annotated[
        str | None, typer.Argument(help="The name of one conversation, as 'explain' shows it.")
    ] = None,
    older_than: Annotated[
        str | None, typer.Option(help="All before: 90d, 12w, 6m, 1y or a date (2026-09-01).")
    ] = None,
    phone: Annotated[
        str | None, typer.Option(help="All of one texter, by the number they texted from.")
    ] = None,
    counts: Annotated[
        bool, typer.Option("--counts", help="Also the counts that tell of nobody.")
    ] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only tell what would go.")] = False,
    data_dir: Data = paths.DATA,
) -> None:
    """Forget conversations: by age, by name or by phone number. It may run beside the server.

    Of each answer a count is left, without time, words or person. There is no way back.
    """
    from datetime import datetime

    from bot.privacy import forget as forgetting
    from bot.privacy.period import moment
    from bot.processes import Failed

    with plainly(UNCHANGED):
        if sum(x is not None for x in (conversation, older_than, phone)) != 1:
            raise Failed("Name one: a conversation, --older-than 90d, or --phone NUMBER.")
        before = None
        if older_than is not None:
            before = moment(older_than, datetime.now().astimezone()).timestamp()
        if phone is not None:
            conversation = conversation_of(data_dir, phone)
        what = forgetting.What(before, conversation, counts)
        done = forgetting.forget(data_dir, what, dry=dry_run)
        typer.echo("\n".join(forgetting.told(done, dry_run)))


def conversation_of(data: Path, phone: str) -> str:
    """The conversation of who texts from a number. Raises `Failed`."""
    from bot import settings
    from bot.privacy.forget import TEXTER
    from bot.processes import Failed
    from bot.sms import numbers, options

    if not (data / numbers.KEY).exists():
        raise Failed(f"No text message was ever taken here: {data} has no {numbers.KEY}.")
    told = options.read(settings.load(data))
    country = told.country if told else "GB"
    if numbers.valid(phone, country) is None:
        raise Failed(f"'{phone}' is no phone number. Write it with its area code.")
    return TEXTER + numbers.Numbers(data, country).name(phone)
