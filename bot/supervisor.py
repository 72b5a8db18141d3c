"""`lidwise run`: one command, and the assistant is there; one key, and all of it is gone."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from types import FrameType

from actions.current import VARIABLE, stored
from bot import paths, settings, training
from bot.access import settings as access_settings
from bot.access.accounts import Accounts
from bot.examples import files, playing
from bot.processes import Failed, Server, address_of, listen, stop_all
from bot.watch import Keeper

RULES = "LIDWISE_RULES"
"""Environment variable with the folder of the rule files, for the language server."""
START = 180.0
"""Seconds the servers have to get ready; on a cold disk the framework alone takes half a minute."""

Say = Callable[[str], None]


class Stopped(BaseException):
    """A signal said to stop."""


def on_signal(number: int, _: FrameType | None) -> None:
    """Turn a signal into an exception, once."""
    for name in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(name, signal.SIG_IGN)
    raise Stopped(signal.Signals(number).name)


def run(host: str, port: int, data: Path, rules: Path, say: Say) -> None:
    """Run until a signal says to stop. Raises `Failed` with what a person has to know."""
    for name in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(name, on_signal)
    servers: list[Server] = []
    stop = threading.Event()
    try:
        listener = listen(host, port)
        settings.check(data)
        say("1/4 Checking the rule book…")
        keeper = prepare_book(data, rules, say)
        prepare_model(data, say)
        servers += start(listener, data, keeper, say)
        keeper.played = lambda verdict: playing.ask(data, verdict.texts, verdict.examples)
        follower = threading.Thread(target=keeper.follow, args=(stop,), daemon=True)
        follower.start()
        say(f"Ready: {servers[-1].address}/   (Ctrl-C stops it)")
        say(panel_line(data))
        watch_over(servers)
    except Stopped:
        say("Stopping…")
    finally:
        stop.set()
        stop_all(servers)


def panel_line(data: Path) -> str:
    """Where the agents' panel is, and how to make the first account if there is none."""
    try:
        if Accounts(data).all() or access_settings.read(settings.load(data)).trusted:
            return "The agents' panel is at /panel"
    except Failed as failed:
        return f"Nobody can sign in to the agents' panel: {failed}"
    where = "" if data == paths.DATA else f" --data-dir {data}"
    return (
        "The agents' panel at /panel has no account yet. "
        f"Make one: lidwise account add NAME --role agent{where}"
    )


def prepare_book(data: Path, rules: Path, say: Say) -> Keeper:
    """Check the rule files and put them in force."""
    try:
        data.mkdir(parents=True, exist_ok=True)
        keeper = Keeper(rules, data / "book.json", say)
        verdict = keeper.look()
    except PermissionError as error:
        raise Failed(f"{error.filename} cannot be written. Try another --data-dir.") from None
    except (FileExistsError, NotADirectoryError):
        raise Failed(f"{data} is not a folder. Try another --data-dir.") from None
    if not verdict.passed:
        for mistake in verdict.errors:
            say(f"  {mistake}")
        raise Failed("The rule book has mistakes (above), so there is nothing to run with.")
    assert verdict.book and verdict.proof
    say(
        f"    {len(verdict.book.items)} items, {verdict.proof.combinations:,} combinations checked"
        f" in {verdict.proof.seconds:.1f} s"
    )
    os.environ[VARIABLE] = str(keeper.stored.resolve())
    os.environ[RULES] = str(rules.resolve())
    return keeper


def prepare_model(data: Path, say: Say) -> None:
    """Train the language model if the one there does not fit."""
    if training.is_current(data):
        say("2/4 The language model is up to date")
        return
    say("2/4 Training the language model (about a minute, only after its files change)…")
    started = time.monotonic()
    training.train_apart(data)
    say(f"    trained in {time.monotonic() - started:.0f} s")


def start(public: object, data: Path, keeper: Keeper, say: Say) -> Sequence[Server]:
    """Start both servers and wait until they answer."""
    say("3/4 Starting the servers…")
    started = time.monotonic()
    logs = data / "logs"
    model = training.model_file(data).resolve()
    private = listen("127.0.0.1", 0)
    webhook = address_of(private) + "/webhook"
    servers: list[Server] = []
    try:
        servers.append(
            Server("action server", "bot.action_server", private, [], logs / "actions.log")
        )
        arguments = [str(model), str(data.resolve()), webhook]
        servers.append(
            Server("language server", "bot.server", public, arguments, logs / "server.log")  # type: ignore[arg-type]
        )
        wait_for(servers, started + START)
    except BaseException:
        stop_all(servers)
        told_of_examples(data, keeper, say)
        raise
    say(f"4/4 Started in {time.monotonic() - started:.0f} s")
    return servers


def told_of_examples(data: Path, keeper: Keeper, say: Say) -> None:
    """If the server ended because conversations do not go as told, raise `Failed` with them."""
    examples, _ = files.read(keeper.folder)
    played = playing.known(data, playing.key_of(data, stored(keeper.stored), examples))
    if played and played.mistakes:
        for mistake in played.mistakes:
            say(f"  {mistake}")
        raise Failed(
            "Some examples no longer get their right answers (above), "
            "so there is nothing to run with."
        )


def wait_for(servers: Sequence[Server], until: float) -> None:
    """Wait until every server answers."""
    waiting = list(servers)
    while waiting:
        for server in servers:
            if not server.alive():
                raise Failed(f"The {server.name} did not start. {server.log} says why.")
        waiting = [s for s in waiting if not s.healthy("/health")]
        if waiting and time.monotonic() > until:
            raise Failed(f"The {waiting[0].name} does not answer. {waiting[0].log} says why.")
        time.sleep(0.2)


def watch_over(servers: Sequence[Server]) -> None:
    """Return never; raise `Failed` when a server ends by itself."""
    while True:
        for server in servers:
            if not server.alive():
                raise Failed(
                    f"The {server.name} ended by itself, so all is stopped. {server.log} says why."
                )
        time.sleep(0.5)
