"""The follow-up loop: a message read as the answer to the question that is open."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from actions import asked_about, inform
from actions.intents import BESIDE, CHAT, SURE
from actions.reply import Answered, Reply
from actions.state import State, Thing
from actions.things import asked, learns, look_up
from rules import Question
from rules.model import DISTRICT

if TYPE_CHECKING:
    from actions.turn import Turn


SURELY = 0.6
"""Confidence from which a yes or no makes a hazard safe."""

GUESSED = 0.85
"""Probability from which a guessed reply is taken as given."""

DESCRIBED = 0.93
"""The same, in the message that names the thing."""

NO_REPLY = CHAT | BESIDE | {"vague_reply", "repeat_or_confused", "referral", "name_district"}
"""Intents of messages that answer no question about a condition."""


def open_question(turn: Turn) -> tuple[State, Reply] | None:
    """Read the message as the answer to the question that is open."""
    state = turn.state
    if not state.condition or not state.waiting:
        return None
    current = state.waiting[0]
    facts = reply_facts(turn, current)
    if facts:
        return settle(turn, facts)
    told = asked_about.kind_told(turn)
    if told:
        return told
    if turn.u.declines and not turn.u.things:
        out = tuple({*current.ruled_out, *turn.u.declines})
        return resume(turn, (replace(current, ruled_out=out), *state.waiting[1:]))
    if asks_anew(turn) and (turn.named_things() or asked_about.new_unknown(turn)):
        return None
    if turn.u.intent in BESIDE or turn.u.intent in CHAT or inform.informs(turn):
        return None
    return ask_again(turn)


def asks_anew(turn: Turn) -> bool:
    """Whether the message asks about something itself, rather than replying."""
    named = turn.named_things()
    if "asking" in turn.u.manners and turn.u.intent not in ("vague_reply", "state_condition"):
        return True
    words = len(turn.u.text.split())
    return bool(named) and turn.u.intent != "state_condition" and words <= 6


def option_chosen(turn: Turn) -> str | None:
    """The option of the open question that the message names by label, value or number."""
    if not turn.state.condition or not turn.state.waiting:
        return None
    question = open_asked(turn, turn.state.waiting[0])
    if question is None:
        return None
    text = " ".join(turn.u.text.lower().strip(" .!?").split())
    for number, value in enumerate(question.values, 1):
        if question.condition == DISTRICT:
            label = turn.book.districts[value].name
        else:
            label = turn.book.conditions[question.condition].values[value].label
        if text in (str(number), value.replace("_", " "), value, label.lower().strip(" .!?")):
            return value
    return None


def open_asked(turn: Turn, thing: Thing) -> Question | None:
    """The question that is open for a thing, with its options."""
    result = look_up(turn.book, thing)
    return result if isinstance(result, Question) else None


def reply_facts(turn: Turn, current: Thing) -> dict[str, str]:
    """What the message says in answer to the open question, and of other conditions."""
    condition = str(turn.state.condition)
    chosen = option_chosen(turn)
    if chosen is not None:
        return {condition: chosen}
    question = open_asked(turn, current)
    values = question.values if question else ()
    if condition == DISTRICT:
        if turn.named_district and not other_things(turn, current):
            return {DISTRICT: turn.named_district}
        return {}
    others = other_things(turn, current)
    stated = {f.condition: f.value for f in turn.u.facts}
    facts = learns(turn.book, current, stated)
    if facts.get(condition) not in values and condition in facts:
        del facts[condition]
    if others and (condition not in facts or asks_anew(turn)):
        return {}
    if facts:
        return facts
    word, certain = yes_or_no(turn)
    for value in values if word else ():
        if word in turn.book.conditions[condition].values[value].says:
            hedged = "hedging" in turn.u.manners or not certain
            if hedged and not harmless(turn, current, condition, value):
                return {}
            return {condition: value}
    return guessed(turn, current, values)


def yes_or_no(turn: Turn) -> tuple[str | None, bool]:
    """The yes or no that a message is, and whether that is certain."""
    for word in ("yes", "no"):
        if f"plain_{word}" in turn.u.manners:
            return word, True
    word = {"affirm": "yes", "deny": "no"}.get(turn.u.intent, "")
    if not word or turn.u.confidence <= SURE:
        return None, False
    return word, turn.u.confidence >= SURELY


def guessed(turn: Turn, current: Thing, values: tuple[str, ...]) -> dict[str, str]:
    """The answer a reply most likely gives, without any phrase of it. Never for a hazard."""
    condition = str(turn.state.condition)
    value, likely = turn.u.guesses.get(condition, ("", 0.0))
    if value not in values or likely < GUESSED or not harmless(turn, current, condition, value):
        return {}
    if "asking" in turn.u.manners or turn.u.intent in NO_REPLY or turn.u.declines:
        return {}
    return {condition: value}


def harmless(turn: Turn, thing: Thing, condition: str, value: str) -> bool:
    """Whether taking a guess for granted can do no harm: for a hazard, only where it leads to what
    would be said anyway if nobody knew."""
    if thing.item is None:
        return False
    if not turn.book.items[thing.item].hazard:
        return True
    told = look_up(turn.book, thing.told({condition: value}))
    careful = look_up(turn.book, replace(thing, given_up=(*thing.given_up, condition)))
    return getattr(told, "destination", None) == getattr(careful, "destination", "")


def described(turn: Turn, thing: Thing) -> Thing:
    """A thing named alone, with the answer to its question that the rest of the message most
    likely gives."""
    if len(turn.u.things) > 1 or turn.u.declines:
        return thing
    result = look_up(turn.book, thing)
    if isinstance(result, Question):
        value, likely = turn.u.guesses.get(result.condition, ("", 0.0))
        sure = value in result.values and likely >= DESCRIBED
        if sure and harmless(turn, thing, result.condition, value):
            return thing.told({result.condition: value})
    return thing


def other_things(turn: Turn, current: Thing) -> list[Thing]:
    """Things named in the message that are not the one being asked about."""
    same = {current.item, *(t.item for t in turn.state.waiting)}
    condition = turn.state.condition
    answers = {f.start for f in turn.u.facts if f.inside and f.condition == condition}
    passing = {
        n.item
        for n in turn.u.things
        if n.placed or any(n.start <= start < n.end for start in answers)
    }
    return [t for t in turn.named_things() if t.item not in same | passing]


def settle(turn: Turn, facts: dict[str, str]) -> tuple[State, Reply]:
    """Take in the answer, for every waiting thing that it can matter to."""
    waiting = list(turn.state.waiting)
    if DISTRICT in facts:
        named = facts[DISTRICT]
        turn.state = replace(turn.state, district=named)
        turn.district = named
        waiting = [replace(t, district=named) for t in waiting]
    else:
        condition = str(turn.state.condition)
        first = waiting[0].told(learns(turn.book, waiting[0], facts))
        rest = [
            t.told({condition: facts[condition]})
            if condition in facts
            and t.item
            and condition in turn.book.conditions_that_matter(t.item)
            else t
            for t in waiting[1:]
        ]
        waiting = [first, *rest]
    return resume(turn, tuple(waiting))


def resume(turn: Turn, waiting: tuple[Thing, ...]) -> tuple[State, Reply]:
    """Go on with the things that wait, the first question next."""
    turn.state = replace(turn.state, waiting=(), condition=None, tries=0)
    return turn.decide(list(waiting))


def ask_again(turn: Turn) -> tuple[State, Reply]:
    """Put the open question once more in other words, then answer with care."""
    state = turn.state
    current = state.waiting[0]
    question = open_asked(turn, current)
    if question is None:
        return resume(turn, state.waiting)
    if state.tries < 2:
        turn.state = replace(state, tries=2)
        items = tuple(Answered(t, None) for t in state.waiting)
        return turn.state, turn.made(
            "question", items=items, asks=asked(current, question, again=True)
        )
    given_up = (*current.given_up, question.condition)
    careful = replace(current, given_up=tuple(dict.fromkeys(given_up)))
    return resume(turn, (careful, *state.waiting[1:]))


def not_known(turn: Turn) -> tuple[State, Reply] | None:
    """A waiting question is put again rather than given up."""
    if turn.state.condition and turn.state.waiting:
        return ask_again(turn)
    return None
