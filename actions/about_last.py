"""More said of what was answered last: a condition, another kind, district or day, a refusal."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from actions import elsewhere, open_question
from actions.intents import CHAT, SURE
from actions.reply import Reply
from actions.state import State, Thing
from actions.things import heads_of, learns, look_up
from rules import Decision

if TYPE_CHECKING:
    from actions.turn import Turn

ABOUT_A_THING = frozenset(
    [
        "ask_destination",
        "ask_follow_on",
        "correct",
        "state_condition",
        "decline_option",
        "ask_why",
        "ask_prepare",
        "ask_what_happens",
        "ask_container_contents",
        "ask_source",
        "name_district",
        "affirm",
        "deny",
    ]
)


ONES = frozenset({"one", "ones", "1", "1s", "un", "uns", "kind", "sort", "type"})
"""Words behind a kind that stand for the thing itself."""

FEW = 8
"""Words of a message that may go on about the last answer without any word for it."""

NOT_OF_IT = CHAT | {
    *("referral", "name_district", "ask_tag", "ask_places", "ask_capabilities", "ask_never"),
    *("ask_changes", "ask_container_contents", "ask_source", "gibberish"),
}
"""Intents of messages that leave the last answer, even with an "it" in them."""


def more_said(turn: Turn) -> tuple[State, Reply] | None:
    """New conditions, another district or day, or a refusal, for what was answered last."""
    last = [t for t in turn.state.last if t.item is not None]
    later = turn.named_on and not turn.u.containers and not turn.u.things
    stated = {f.condition: f.value for f in turn.u.facts}
    relevant = any(learns(turn.book, t, stated) for t in last) and "pointing" in turn.u.manners
    unsure = (
        relevant or turn.u.confidence < SURE or bool(turn.u.declines) or "varying" in turn.u.manners
    )
    if not last or not (turn.u.intent in ABOUT_A_THING or later or unsure):
        return None
    changed: list[Thing] = []
    for thing in last:
        new = thing
        facts = learns(turn.book, thing, stated) or guessed_of(turn, thing)
        new = new.told(facts) if facts else same_form(turn, new, stated)
        if turn.named_district:
            new = replace(new, district=turn.named_district)
        if turn.named_on:
            new = replace(new, on=turn.named_on.isoformat())
        if declined(turn, thing):
            new = replace(new, ruled_out=tuple({*new.ruled_out, *declined(turn, thing)}))
        if new != thing:
            changed.append(replace(new, given_up=()))
    if changed:
        return turn.decide(changed)
    nothing_new = turn.u.intent in ("state_condition", "ask_follow_on") and not turn.u.unknown
    return turn.again() if nothing_new and not turn.u.things else None


def guessed_of(turn: Turn, thing: Thing) -> dict[str, str]:
    """What a message without any phrase of a condition most likely says of the last thing."""
    if turn.u.intent not in ABOUT_A_THING or turn.u.things or turn.u.declines:
        return {}
    matter = turn.book.conditions_that_matter(str(thing.item))
    guesses = {c: g for c, g in turn.u.guesses.items() if c in matter and c in thing.facts}
    return {
        c: value
        for c, (value, likely) in guesses.items()
        if likely >= open_question.DESCRIBED
        and value != thing.facts[c]
        and open_question.harmless(turn, thing, c, value)
    }


def declined(turn: Turn, thing: Thing) -> tuple[str, ...]:
    """The destinations that will not do, by name or because the answer's main one will not."""
    if turn.u.declines:
        return turn.u.declines
    if turn.u.intent == "decline_option" and turn.u.confidence > SURE:
        result = look_up(turn.book, thing)
        if isinstance(result, Decision) and result.alternatives:
            return (result.destination,)
    return ()


def same_form(turn: Turn, thing: Thing, stated: dict[str, str]) -> Thing:
    """The thing of the same form but another kind: "no, I meant the plastic one", "car ones"."""
    for word in heads_of(turn.book, thing):
        for kind in kinds_named(turn):
            other = turn.book.named(f"{kind} {word}")
            if other and other != thing.item:
                return replace(thing, item=other, said=f"{kind} {word}", facts={})
        other = turn.book.named(word)
        if not other or not turn.is_bare(other):
            continue
        generic = replace(thing, item=other, facts={})
        facts = learns(turn.book, generic, stated)
        if any(c in facts for c in turn.book.items[other].table.ask):
            return generic.told(facts)
    return thing


def kinds_named(turn: Turn) -> list[str]:
    """The words before "one" or "ones" in the message: "electric", "metal"."""
    words = turn.u.text.lower().strip(" .!?").split()
    return [words[k - 1] for k, w in enumerate(words) if k and w in ONES]


def short_of(turn: Turn) -> tuple[State, Reply] | None:
    """A few words after an answer that mean nothing by themselves: the answer again."""
    few = len(turn.u.text.split()) <= FEW and not turn.u.unknown
    if not few or turn.state.condition or turn.u.intent in CHAT | {"gibberish", "referral"}:
        return None
    return turn.again()


def told_district(turn: Turn) -> tuple[State, Reply] | None:
    """The resident only says where they live."""
    if turn.named_district and not turn.u.things and turn.u.intent in ("name_district", "correct"):
        state = replace(turn.state, district=turn.named_district)
        if state.waiting:
            turn.state = state
            return open_question.resume(
                turn, tuple(replace(t, district=turn.named_district) for t in state.waiting)
            )
        name = turn.book.districts[turn.named_district].name
        return state, turn.made("information", parts=(("noted_district", {"district": name}),))
    return None


def restate(turn: Turn) -> tuple[State, Reply] | None:
    """A vague or puzzled word after an answer: give the answer again."""
    if turn.state.condition:
        return None
    puzzled = turn.u.intent in ("vague_reply", "repeat_or_confused")
    leaves = turn.u.intent in NOT_OF_IT and turn.u.confidence >= SURE
    goes_on = not leaves and elsewhere.of_the_last(turn)
    return turn.again() if puzzled or goes_on else None
