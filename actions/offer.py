"""Offers two or three readings of a message that may be meant otherwise: "did you mean…?"."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from actions import elsewhere, open_question
from actions.phrases import wording
from actions.reply import Reply
from actions.state import State, Thing

if TYPE_CHECKING:
    from actions.turn import Turn

MOST = 3
"""Readings offered at once."""


def taken(turn: Turn) -> tuple[State, Reply] | None:
    """The answer to an offer: yes, a reading's words or number, or something else."""
    offered = turn.state.offered
    if not offered:
        return None
    turn.state = replace(turn.state, offered=())
    text = " ".join(turn.u.text.lower().strip(" .!?").split())
    word, _ = open_question.yes_or_no(turn)
    if word == "yes" and len(offered) == 1:
        return turn.decide(list(offered))
    for number, thing in enumerate(offered, 1):
        if text == str(number) or same(text, thing.said):
            return turn.decide([thing])
    refused = (str(len(offered) + 1), wording()["something_else"]["long"].lower())
    if word == "no" or text in refused:
        return turn.state, turn.made("unclear", parts=(("unclear", {}),))
    return None


def same(text: str, said: str) -> bool:
    """Whether a reply repeats the words of a reading. Memory may have left out who was named in
    them: "[name]'s old sofa"."""
    words = re.escape(" ".join(said.lower().split()))
    return bool(re.fullmatch(re.sub(r"\\\[[a-z\\ ]+\\\]", ".{1,80}", words), text))


def doubtful(turn: Turn) -> tuple[State, Reply] | None:
    """A message that names things but may well be about something else."""
    if not elsewhere.is_doubtful(turn):
        return None
    things = turn.named_things()
    return offering(turn, things[:MOST]) if things else None


def offering(turn: Turn, things: list[Thing]) -> tuple[State, Reply]:
    """A reply that offers readings, which are remembered for the next message."""
    state = replace(turn.state, offered=tuple(things))
    names = [t.said for t in things]
    said = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
    choices = ", ".join(f"{n} {name}" for n, name in enumerate(names, 1))
    fill = {"things": said, "choices": choices, "other": str(len(names) + 1)}
    return state, turn.made("unclear", parts=(("did_you_mean", fill),), offers=tuple(names))
