"""What all commands share: the rules' option, who is there, and failures told in plain lines."""

from __future__ import annotations

import getpass
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, NoReturn

import typer

from bot import paths

BOOK = paths.PROJECT / "rules" / "book"

Rules = Annotated[
    Path, typer.Option("--rules", envvar="LIDWISE_RULES", help="Folder of the rule files.")
]


def fail(text: str, code: int = 1) -> NoReturn:
    """End with one clear line."""
    typer.echo(text, err=True)
    raise typer.Exit(code)


def who() -> str:
    """The person at the terminal."""
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "terminal"


@contextmanager
def plainly(stopped: str = "Stopped.", *also: type[Exception]) -> Iterator[None]:
    """Turn what can go wrong outside the program into plain lines; `also` what else is meant for
    the person there. Whoever stops it is told `stopped`."""
    from bot.processes import Failed
    from rules.loader import BookError

    try:
        yield
    except Failed as failed:
        fail(str(failed))
    except BookError as error:
        fail(f"The rule book has mistakes:\n{error}")
    except PermissionError as error:
        fail(f"{error.filename}: no permission. Try another --data-dir.")
    except also as wrong:
        fail(str(wrong))
    except (KeyboardInterrupt, EOFError):
        fail(stopped, 130)


UNCHANGED = "Stopped. Nothing was changed."
