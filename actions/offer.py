"""Offers two or three readings of a message that may be meant otherwise: "did you mean…?"."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from actions import elsewhere
from actions.reply import Reply
from actions.state import State, Thing
from actions.things import named_things

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
    if turn.u.intent == "affirm" and len(offered) == 1:
        return turn.decide(list(offered))
    for number, thing in enumerate(offered, 1):
        if text in (str(number), thing.said.lower()):
            return turn.decide([thing])
    if turn.u.intent == "deny" or text == str(len(offered) + 1):
        return turn.state, turn.made("unclear", parts=(("unclear", {}),))
    return None


def doubtful(turn: Turn) -> tuple[State, Reply] | None:
    """A message that names things but may well be about something else."""
    if not elsewhere.is_doubtful(turn):
        return None
    things = named_things(turn.book, turn.u, turn.district, turn.on)
    if not things:
        return None
    return offering(turn, things[:MOST])


def near(turn: Turn) -> tuple[State, Reply] | None:
    """A message not understood that has a word like the name of something."""
    found = [i for i in turn.u.near if i in turn.book.items][:MOST]
    if not found or turn.u.intent == "gibberish":
        return None
    on = turn.on.isoformat()
    things = [Thing(i, turn.book.items[i].name, on, turn.district) for i in found]
    return offering(turn, things)


def offering(turn: Turn, things: list[Thing]) -> tuple[State, Reply]:
    """A reply that offers readings, which are remembered for the next message."""
    state = replace(turn.state, offered=tuple(things))
    names = [t.said for t in things]
    said = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
    choices = ", ".join(f"{n} {name}" for n, name in enumerate(names, 1))
    fill = {"things": said, "choices": choices, "other": str(len(names) + 1)}
    return state, turn.made("unclear", parts=(("did_you_mean", fill),), offers=tuple(names))
