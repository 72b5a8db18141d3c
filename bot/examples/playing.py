"""Has the running language server play the conversations of a book before it comes into force.

The process that watches the rule files has no model. It writes what it wants played into a file of
the data folder; the server looks for that, plays, and writes what it found into another. What was
found is kept for the last books, so that nothing is played twice.
"""

from __future__ import annotations

import asyncio
import hashlib
import json
import logging
import threading
import time
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bot.atomic import write_json
from bot.examples.conversations import Played, run
from bot.examples.files import conversations
from rules.finding import Finding
from rules.loader import load_texts
from rules.model import Place

if TYPE_CHECKING:
    from rasa.core.agent import Agent

logger = logging.getLogger(__name__)

WANTED = "examples-wanted.json"
PLAYED = "examples-played.json"
KEPT = 20
"""Books whose results are kept."""
EVERY = 0.2
"""Seconds between two looks for the other side's file."""
PATIENCE = 90.0
"""Seconds after which the server counts as not playing."""

LOCK = threading.Lock()
Texts = Mapping[str, str]


def key_of(data: Path, book: Texts, examples: Texts) -> str:
    """What a book, its conversations and the model are known by."""
    told = hashlib.sha256()
    try:
        told.update((data / "models" / "trained-from").read_bytes())
    except OSError:
        told.update(b"no model")
    for texts in (book, conversations(examples)):
        for name in sorted(texts):
            told.update(f"{name}\0{texts[name]}\0".encode())
        told.update(b"\1")
    return told.hexdigest()[:32]


def results(data: Path) -> dict[str, Any]:
    """What was found so far, by key."""
    try:
        told = json.loads((data / PLAYED).read_text(encoding="utf-8"))
        return told if isinstance(told, dict) else {}
    except (OSError, ValueError):
        return {}


def known(data: Path, key: str) -> Played | None:
    """What was found of a book already."""
    told = results(data).get(key)
    if told is None:
        return None
    found = tuple(
        Finding(Place(m["file"], m["line"]), m["what"], m["cure"]) for m in told["mistakes"]
    )
    return Played(told["conversations"], told["turns"], found)


def keep(data: Path, key: str, played: Played) -> None:
    """Remember what was found."""
    with LOCK:
        keep_alone(data, key, played)


def keep_alone(data: Path, key: str, played: Played) -> None:
    """The same, where no other thread of this process does it."""
    told = results(data)
    told.pop(key, None)
    told[key] = {
        "conversations": played.conversations,
        "turns": played.turns,
        "mistakes": [
            {"file": m.place.file, "line": m.place.line, "what": m.what, "cure": m.cure}
            for m in played.mistakes
        ],
    }
    while len(told) > KEPT:
        told.pop(next(iter(told)))
    write_json(data / PLAYED, told)


# ---- the process that watches the rule files


def ask(data: Path, book: Texts, examples: Texts) -> Played:
    """What the server finds of a book. If it does not answer, that is a mistake found."""
    if not conversations(examples):
        return Played(0, 0, ())
    key = key_of(data, book, examples)
    found = known(data, key)
    if found is None:
        wanted = {"key": key, "book": dict(book), "examples": dict(examples)}
        write_json(data / WANTED, wanted)
        end = time.monotonic() + PATIENCE
        while found is None and time.monotonic() < end:
            time.sleep(EVERY)
            found = known(data, key)
        (data / WANTED).unlink(missing_ok=True)
    if found is None:
        what = "the conversations could not be played"
        cure = "Save a rule file again to try again; the server's log says more"
        return Played(0, 0, (Finding(Place("examples/conversations", 1), what, cure),))
    return found


# ---- the language server


def play(agent: Agent, data: Path, book: Texts, examples: Texts) -> Played:
    """Play the conversations of a book, unless that was done. Takes about a second."""
    key = key_of(data, book, examples)
    found = known(data, key)
    if found is None:
        from bot.trial import Trial

        found = run(Trial(agent, load_texts(book)), examples)
        keep(data, key, found)
    return found


def play_wanted(agent: Agent, data: Path) -> None:
    """Play what the other process wants played."""
    try:
        wanted = json.loads((data / WANTED).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return
    if known(data, wanted["key"]) is None:
        play(agent, data, wanted["book"], wanted["examples"])


async def serve(agent: Agent, data: Path) -> None:
    """Play whatever is wanted, for as long as the server runs."""
    loop = asyncio.get_running_loop()
    seen = None
    while True:
        await asyncio.sleep(EVERY)
        try:
            stamp = (data / WANTED).stat().st_mtime_ns
        except OSError:
            continue
        if stamp == seen:
            continue
        seen = stamp
        try:
            await loop.run_in_executor(None, play_wanted, agent, data)
        except Exception:
            logger.exception("The officer's conversations could not be played.")
