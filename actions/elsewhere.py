"""What is no business of the rules: services of the contact centre, and everything off topic."""

from __future__ import annotations

from typing import TYPE_CHECKING

from actions import inform, open_question
from actions.intents import SURE
from actions.reply import Reply
from actions.state import State

if TYPE_CHECKING:
    from actions.turn import Turn

NAMED_OFF_TOPIC = 0.7
HAZARD_OFF_TOPIC = 0.98
"""Confidence from which a message that names a thing, or a hazard, is off topic all the same."""

SURELY_OUTSIDE = 0.9
"""Confidence from which a message is off topic even in the midst of talk about a thing."""

SHORT = 20
"""Words up to which a message may go on about what was talked of, without naming it."""

ELSEWHERE = frozenset({"referral", "off_topic"})


def service(turn: Turn) -> tuple[State, Reply] | None:
    """What the contact centre deals with, and what is no business of the scheme."""
    if turn.u.intent not in ELSEWHERE or turn.u.confidence < SURE:
        return None
    if (
        turn.state.condition
        and turn.state.waiting
        and open_question.reply_facts(turn, turn.state.waiting[0])
    ):
        return None
    if turn.u.intent == "off_topic" and turn.u.confidence < off_topic_from(turn):
        return None
    if turn.u.intent == "off_topic" and of_the_last(turn):
        return None
    if turn.u.intent == "off_topic":
        return turn.state, turn.made("referral", parts=(("outside", {}),))
    return turn.state, inform.referral(turn, turn.u)


def of_the_last(turn: Turn) -> bool:
    """Whether a message seems off topic only because it goes on about what was talked of."""
    if turn.u.intent == "off_topic" and turn.u.confidence > SURELY_OUTSIDE:
        return False
    talked = bool(turn.state.waiting or turn.state.last)
    short = len(turn.u.text.split()) <= SHORT
    return talked and short and (turn.points_back() or bool(turn.state.condition))


def off_topic_from(turn: Turn) -> float:
    """The confidence from which a message is off topic, in spite of what it names.

    One that is nothing but a name never is; a hazard, or a name with no other sense, needs more
    than an everyday word.
    """
    if bare_name(turn):
        return 1.01
    if any(n.item and not n.common and turn.book.items[n.item].hazard for n in turn.u.things):
        return HAZARD_OFF_TOPIC
    if "riddance" in turn.u.manners:
        return HAZARD_OFF_TOPIC
    if any(not n.common for n in turn.u.things) or turn.u.signs:
        return NAMED_OFF_TOPIC
    return SURE


def bare_name(turn: Turn) -> bool:
    """Whether the message is only names and conditions: "a flumpwangler", "vase, glass"."""
    named = bool(turn.u.things or turn.u.marks) or any(n.article for n in turn.u.unknown)
    return "bare" in turn.u.manners and named
