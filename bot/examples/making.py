"""Makes an example of a conversation: what was said, and the right answer to each message."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from bot.changes.places import Places
from bot.changes.store import Changes
from bot.examples.files import CONVERSATIONS
from bot.play import checked
from bot.processes import Failed
from rules.writing import written

if TYPE_CHECKING:
    from bot.changes.change import Change
    from bot.record.entry import Entry

CHANNELS = ("webchat", "sms", "panel")
MOST = 40
"""Messages of an example."""


def from_record(entries: Sequence[Entry]) -> dict[str, Any]:
    """A conversation of the record as a transcript, with the answers that were given.

    Raises `Failed` if there is none, or it was forgotten.
    """
    turns = [turn(e) for e in entries if e.question]
    if not turns:
        raise Failed("There is no such conversation, or it was forgotten. Nothing was saved.")
    first = next(e for e in entries if e.question)
    return {
        "about": "A conversation that was answered right.",
        "shows": first.question or "",
        "channel": first.channel if first.channel in CHANNELS else "webchat",
        "district": first.district,
        "on": first.on or first.at[:10],
        "turns": turns[:MOST],
    }


def turn(entry: Entry) -> dict[str, Any]:
    """One message and what was answered to it."""
    made: dict[str, Any] = {"say": entry.question, "kind": entry.kind}
    if entry.kind == "question" and entry.asks:
        made["asks"] = entry.asks["condition"]
    made["items"] = [{"item": i["item"], "destination": i["destination"]} for i in entry.items]
    if entry.kind in ("information", "referral", "unclear", "small_talk") and not made["items"]:
        del made["items"]
    return made


def text_of(transcript: Mapping[str, Any]) -> str:
    """A transcript as a file, laid out as those in `transcripts_demo`."""

    def value(data: Any) -> str:
        return "null" if data is None else written(str(data))

    lines = [f"{n}: {value(transcript[n])}" for n in ("about", "shows", "channel", "district")]
    lines += [f"on: {transcript['on']}", "turns:"]
    for turn in transcript["turns"]:
        kind = turn["kind"]
        lines.append(f"  - say: {value(turn['say'])}")
        lines.append(
            f"    kind: {kind}" if isinstance(kind, str) else f"    kind: [{', '.join(kind)}]"
        )
        if turn.get("asks"):
            lines.append(f"    asks: {value(turn['asks'])}")
        if "items" in turn and not turn["items"]:
            lines.append("    items: []")
        elif "items" in turn:
            lines.append("    items:")
            for item in turn["items"]:
                lines.append(f"      - item: {value(item['item'])}")
                lines.append(f"        destination: {value(item['destination'])}")
    return "\n".join(lines) + "\n"


def slug(name: str) -> str:
    """A file's name from some words. Raises `Failed` if nothing is left."""
    made = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")[:60].strip("_")
    if not made:
        raise Failed("Give the example a name of some letters.")
    return made


def path_of(places: Places, name: str) -> str:
    """The path of a new example, which must not be there yet. Raises `Failed`."""
    path = f"{CONVERSATIONS}{slug(name)}.yml"
    if places.text(path) is not None:
        raise Failed(f"There is an example '{slug(name)}' already. Give it another name.")
    return path


def propose(
    changes: Changes, name: str, text: str, *, by: str, about: Mapping[str, Any] | None = None
) -> Change:
    """Propose an example. Raises `Failed` with what is wrong with it."""
    path = path_of(changes.places, name)
    _, mistakes = checked(path, text)
    if mistakes:
        raise Failed("\n".join(str(m) for m in mistakes))
    return changes.propose(f"Example: {slug(name)}", {path: text}, by=by, about=about)
