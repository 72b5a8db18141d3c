"""What is no business of the rules: services of the contact centre, and everything off topic."""

from __future__ import annotations

from typing import TYPE_CHECKING

from actions import inform, open_question
from actions.intents import CHAT, SURE
from actions.reply import Reply
from actions.state import State

if TYPE_CHECKING:
    from actions.turn import Turn

OUTSIDE = {
    "riddance": 0.99,
    "bare": 0.9,
    "hazard": 0.97,
    "named": 0.85,
    "common": 0.7,
    "described": 0.9,
    "other": 0.2,
}
"""How likely off topic a message must be to be called so, by what it names (see `sort_of`)."""

DOUBTFUL = {
    "riddance": 0.97,
    "bare": 0.8,
    "hazard": 0.8,
    "named": 0.4,
    "common": 0.35,
    "described": 0.9,
    "other": 0.2,
}
"""From where it is first asked what is meant. `python -m bot.measure.thresholds` prints what each
would cost."""

SURELY_OUTSIDE = 0.9
"""Confidence from which a message is off topic even in the midst of talk about a thing."""

FEW = 3
"""Words up to which strange words alone may be the name of a thing."""
NAMELESS = 0.7
"""How likely off topic they may be."""

SHORT = 20
"""Words up to which a message may go on about what was talked of, without naming it."""


def service(turn: Turn) -> tuple[State, Reply] | None:
    """What the contact centre deals with, and what is no business of the scheme."""
    off_topic = is_outside(turn)
    referred = turn.u.intent == "referral" and turn.u.confidence >= SURE
    if not off_topic and not referred:
        return None
    if (
        turn.state.condition
        and turn.state.waiting
        and open_question.reply_facts(turn, turn.state.waiting[0])
    ):
        return None
    if off_topic:
        return turn.state, turn.made("referral", parts=(("outside", {}),))
    return turn.state, inform.referral(turn, turn.u)


def sort_of(turn: Turn) -> str:
    """What a message names: a `hazard`, things no everyday word can mean (`named`), only everyday
    words (`common`), something that is only `described`, or nothing (`other`).

    `bare` if it is nothing but names, `riddance` if it speaks of getting rid of something.
    """
    if "riddance" in turn.u.manners:
        return "riddance"
    if bare_name(turn):
        return "bare"
    if any(n.item and turn.book.items[n.item].hazard for n in turn.u.things):
        return "hazard"
    if any(not n.common for n in turn.u.things) or turn.u.signs:
        return "named"
    if turn.u.things:
        return "common"
    return "described" if "described" in turn.u.manners else "other"


def is_outside(turn: Turn) -> bool:
    """Whether a message is no business of the scheme."""
    named = sort_of(turn)
    if turn.u.outside < OUTSIDE[named] or hazard_in_a_state(turn):
        return False
    if named == "other" and inform.informs(turn):
        return False
    return not of_the_last(turn)


def hazard_in_a_state(turn: Turn) -> bool:
    """Whether a message names a hazard and a state of it that its rule asks about ("a syringe lying
    on the pavement"): refusing that could hurt someone."""
    items = turn.book.items
    named = [str(n.item) for n in turn.u.things if n.item in items and n.facts]
    return any(items[i].hazard for i in named)


def is_urgent(turn: Turn) -> bool:
    """Whether a message names a thing whose rule is an emergency, whatever its state."""
    rows = [turn.book.items[str(n.item)].table.rows for n in turn.u.things if n.item]
    return any(all(r.goes == "emergency" for r in table) for table in rows)


def is_doubtful(turn: Turn) -> bool:
    """Whether a message that names something may be about something else than getting rid of it."""
    talked = turn.state.waiting or turn.state.last
    if talked or not turn.u.things or hazard_in_a_state(turn) or is_urgent(turn):
        return False
    return turn.u.outside >= DOUBTFUL[sort_of(turn)]


def of_the_last(turn: Turn) -> bool:
    """Whether a message seems off topic only because it goes on about what was talked of."""
    if turn.u.outside > SURELY_OUTSIDE:
        return False
    talked = bool(turn.state.waiting or turn.state.last)
    short = len(turn.u.text.split()) <= SHORT
    return talked and short and ("pointing" in turn.u.manners or bool(turn.state.condition))


def bare_name(turn: Turn) -> bool:
    """Whether the message is only names and conditions: "a flumpwangler", "vase, glass".

    Of strange words without an article, such as "draught excluder?", only a few are a name, and
    only where they are neither noise nor surely about something else.
    """
    if "bare" not in turn.u.manners:
        return False
    if turn.u.things or turn.u.marks or any(n.article for n in turn.u.unknown):
        return True
    few = len(turn.u.text.split()) <= FEW and not turn.state.condition
    noise = turn.u.intent in ("gibberish", *CHAT)
    return bool(turn.u.unknown) and few and not noise and turn.u.outside < NAMELESS
