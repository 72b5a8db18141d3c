"""`lidwise account`: makes, lists and removes the accounts of the staff."""

from __future__ import annotations

import getpass
import sys
from pathlib import Path
from typing import Annotated

import typer

from bot import paths
from bot.terminal import UNCHANGED, plainly

app = typer.Typer(help="Accounts of agents and officers.", no_args_is_help=True)

Name = Annotated[str, typer.Argument(help="The account's name, such as j.marsh.")]
Data = Annotated[Path, typer.Option("--data-dir", "-d", help="Folder with the accounts.")]
Piped = Annotated[
    bool,
    typer.Option("--password-stdin", help="Read the password from the standard input, one line."),
]


def password(piped: bool) -> str:
    """A new password: asked for twice, or one line of the standard input."""
    from bot.processes import Failed

    if piped:
        return sys.stdin.readline().rstrip("\r\n")
    if not sys.stdin.isatty():
        raise Failed("There is no terminal to ask for a password. Use --password-stdin.")
    first = getpass.getpass("New password (at least 12 characters): ")
    if getpass.getpass("The same again: ") != first:
        raise Failed("The two passwords differ. Nothing was changed.")
    return first


@app.command()
def add(
    name: Name,
    role: Annotated[str, typer.Option(help="agent or officer.")] = "agent",
    password_stdin: Piped = False,
    data_dir: Data = paths.DATA,
) -> None:
    """Make an account."""
    from bot.access.accounts import Accounts

    with plainly(UNCHANGED):
        made = Accounts(data_dir).add(name, role, password(password_stdin))
        typer.echo(f"There is now an account '{made.name}' with the role {made.role}.")


@app.command("list")
def listed(data_dir: Data = paths.DATA) -> None:
    """List the accounts."""
    from bot.access.accounts import Accounts

    with plainly(UNCHANGED):
        accounts = Accounts(data_dir).all()
        for account in sorted(accounts.values(), key=lambda a: a.name):
            typer.echo(f"{account.name}  {account.role}")
        if not accounts:
            typer.echo("There is no account yet. Make one: lidwise account add NAME --role agent")


@app.command()
def remove(name: Name, data_dir: Data = paths.DATA) -> None:
    """Remove an account. Whoever is signed in with it is signed out at once."""
    from bot.access.accounts import Accounts

    with plainly(UNCHANGED):
        Accounts(data_dir).remove(name)
        typer.echo(f"The account '{name}' is gone.")


@app.command("password")
def change(name: Name, password_stdin: Piped = False, data_dir: Data = paths.DATA) -> None:
    """Give an account another password. Whoever is signed in with it has to sign in again."""
    from bot.access.accounts import Accounts
    from bot.processes import Failed

    with plainly(UNCHANGED):
        accounts = Accounts(data_dir)
        if accounts.get(name) is None:
            known = ", ".join(sorted(accounts.all())) or "none yet"
            raise Failed(f"There is no account '{name}'. There are: {known}.")
        accounts.change(name, password(password_stdin))
        typer.echo(f"The account '{name}' has another password.")
