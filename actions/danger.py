"""Tells of a danger that is happening now before anything else."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from actions.reply import Answered, Reply
from actions.state import State, Thing
from rules import live_danger

if TYPE_CHECKING:
    from actions.turn import Turn

CERTAIN = 0.9
"""Confidence from which the intent alone makes a live danger, without a word the book knows."""

CERTAIN_BESIDE = 0.7
"""The same, where the message names a dangerous thing."""

CERTAIN_TOLD = 0.98
"""The same, where it also says what state that is in, and a rule speaks of it: "dented"."""


def emergency(turn: Turn) -> tuple[State, Reply] | None:
    """A danger that is happening now comes first."""
    things = turn.named_things()
    dangerous = [t for t in things if t.item and hazard(turn, t)]
    least = CERTAIN_BESIDE if dangerous else CERTAIN
    if dangerous and all(t.facts for t in dangerous):
        least = CERTAIN_TOLD
    told = turn.u.intent == "live_danger" and turn.u.confidence >= least
    dangers = [*turn.u.dangers, *of_last(turn)]
    if not dangers and not told:
        return None
    kinds = [k for k, _ in dangers if k]
    if not things:
        talked = [*turn.state.waiting, *turn.state.last]
        dangerous = [t for t in talked if t.item and hazard(turn, t)][:1]
    chosen = dangerous[:1] or things[:1]
    if not chosen:
        words = [*(n.said for n in turn.u.unknown), *(said for _, said in dangers)]
        said = words[0] if words else turn.u.text.strip()[:60]
        chosen = [Thing(item=None, said=said, on=turn.on.isoformat(), district=turn.district)]
    spoken = next((k for k in kinds if turn.book.dangers[k].any_hazard), None)
    kind = spoken or hazard(turn, chosen[0]) or (kinds[0] if kinds else None)
    decision = live_danger(turn.book, chosen[0].item, kind)
    item = Answered(chosen[0], decision)
    state = replace(turn.state, waiting=(), condition=None, tries=0, last=tuple(chosen))
    return state, turn.made("emergency", items=(item,))


def of_last(turn: Turn) -> list[tuple[str, str]]:
    """Signs of danger that fit the thing talked of just before: "it's hot" after a battery."""
    if turn.u.things or not turn.u.dangers_of_last:
        return []
    talked = [*turn.state.waiting, *turn.state.last]
    kinds = {hazard(turn, t) for t in talked if t.item}
    return [(k, said) for k, said in turn.u.dangers_of_last if k in kinds]


def emergency_by_rule(turn: Turn, done: list[Answered]) -> tuple[State, Reply] | None:
    """A thing whose rule itself is an emergency (a grenade) is told of alone."""
    urgent = [a for a in done if a.decision and a.decision.destination == "emergency"]
    if not urgent:
        return None
    state = replace(turn.state, waiting=(), condition=None, tries=0, last=(urgent[0].thing,))
    return state, turn.made("emergency", items=tuple(urgent[:1]))


def hazard(turn: Turn, thing: Thing) -> str | None:
    """The kind of danger of a thing, or of the first meaning of its name that has one."""
    if thing.item is None:
        return None
    item = turn.book.items[thing.item]
    seen = [turn.book.items[r.see].hazard for r in item.table.rows if r.see]
    return item.hazard or next((h for h in seen if h), None)
