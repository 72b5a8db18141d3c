"""Runs one system over the held-out sets, in a process of its own, and prints its figures.

`python -m bot.measure.run lidwise` prints JSON. `lidwise` may be followed by the parts to leave
out; the others are `framework` and `fulltext`. `--wrong` lists what went wrong instead, but for
what is to stay unseen.
"""

from __future__ import annotations

import json
import os
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any

import psutil

from bot import lean, logs, paths
from bot.measure import heldout, reliability
from bot.measure.scoring import DECIDES, Tally, count

Say = Callable[[str, heldout.Conversation], dict[str, Any]]


def assistant(model: Path) -> tuple[Say, Callable[[str], dict[str, Any]]]:
    """How to talk to an assistant with a trained model, and how to have it parse a message."""
    from bot.assistant import Assistant, answer_of

    talker = Assistant(model)
    talker.say("hello")

    def say(message: str, conversation: heldout.Conversation) -> dict[str, Any]:
        metadata = {"on": conversation.on}
        if conversation.district:
            metadata["district"] = conversation.district
        return answer_of(talker.say(message, conversation.id, **metadata))

    return say, talker.parse


def fulltext() -> tuple[Say, Callable[[str], dict[str, Any]]]:
    """How to talk to the full-text search."""
    from actions.current import SHELF
    from bot.measure.fulltext import FullText

    search = FullText(SHELF.current())

    def say(message: str, conversation: heldout.Conversation) -> dict[str, Any]:
        on = date.fromisoformat(conversation.on)
        return search.answer(message, conversation.district, on)

    return say, lambda message: search.answer(message, "pellbrook", date.today())


def system(name: str) -> tuple[Say, Callable[[str], dict[str, Any]]]:
    """The system of a name."""
    if name == "fulltext":
        return fulltext()
    if name == "framework":
        from bot.measure.framework import trained

        return assistant(trained(paths.DATA))
    from bot.training import model_file

    return assistant(model_file(paths.DATA))


def measured(name: str, show: bool = False) -> Tally:
    """The figures of a system; `show` prints what was wrong as it goes."""
    before = psutil.Process().memory_full_info().uss
    say, parse = system(name)
    from actions.current import SHELF

    book = SHELF.current()
    tally = Tally(
        frozenset(i.id for i in book.items.values() if i.hazard),
        {i: frozenset(book.conditions_that_matter(i)) for i in book.items},
    )
    for conversation in heldout.conversations():
        rights = []
        for turn in conversation.turns:
            answer = say(turn.say, conversation)
            unsafe = sum(tally.unsafe.values())
            right = tally.turn(answer, turn)
            rights.append(right)
            harm = sum(tally.unsafe.values()) > unsafe
            if show and not conversation.part.startswith(heldout.UNSEEN) and (not right or harm):
                got = [(i["item"], i["destination"]) for i in answer["items"]]
                mark = " UNSAFE" if harm else ""
                print(f"{conversation.id}{mark} {turn.say!r}: {answer['kind']} {got}")
        tally.conversation(conversation.group, conversation.part, rights)
    unseen = set(heldout.unrelated(heldout.UNSEEN))
    for n, message in enumerate(heldout.unrelated()):
        alone = heldout.Conversation(f"unrelated-{n}", "", "", "pellbrook", "2026-12-01", ())
        answer = say(message, alone)
        false = answer["kind"] in DECIDES
        count(tally.unrelated, false)
        if show and false and message not in unseen:
            print(f"unrelated {message!r}: {answer['kind']} {[i['item'] for i in answer['items']]}")
    took, pairs = [], []
    for turn in (t for c in heldout.conversations() for t in c.turns):
        start = time.perf_counter()
        parsed = parse(turn.say)
        took.append(time.perf_counter() - start)
        intent = parsed.get("intent")
        if intent:
            meant = intent["name"] in reliability.MEANT[turn.intent]
            pairs.append((float(intent["confidence"]), meant))
    if pairs:
        tally.reliability = reliability.table(pairs)
        tally.calibration = reliability.calibration_error(pairs)
    tally.milliseconds = statistics.median(took) * 1000
    tally.megabytes = (psutil.Process().memory_full_info().uss - before) / 2**20
    return tally


def main() -> None:
    """Run the system named on the command line."""
    lean.first()
    logs.configure()
    name, *without = [a for a in sys.argv[1:] if not a.startswith("--")]
    os.environ["LIDWISE_WITHOUT"] = ",".join(without)
    show = "--wrong" in sys.argv
    tally = measured(name, show)
    plain = {k: v for k, v in asdict(tally).items() if k not in ("hazards", "matters")}
    print(json.dumps(tally.row() if show else plain))


if __name__ == "__main__":
    main()
