"""Answers for the things a message asks about."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from actions import about_last, elsewhere, open_question
from actions.intents import BESIDE, CHAT
from actions.reply import Reply
from actions.state import State, Thing
from actions.things import answered, heads_of, learns, singles, unknown_things

if TYPE_CHECKING:
    from actions.turn import Turn

FEW = 4
"""Words of a message that may only tell another kind of what was answered last."""

OF_THE_LAST = frozenset({"ask_follow_on", "state_condition", "correct", "decline_option"})
"""Intents that, with "it" or "those", speak of what was answered last."""


def beside(turn: Turn) -> tuple[State, Reply] | None:
    """Why, how, and what happens: asked of the thing named, or of the one talked of."""
    if "doubting" in turn.u.manners and turn.state.last and not turn.state.condition:
        return turn.again()
    if turn.u.intent not in BESIDE:
        return None
    talked = [t for t in (*turn.state.waiting[:1], *turn.state.last) if t.item is not None]
    things = turn.named_things()
    if talked and ("pointing" in turn.u.manners or all(n.placed for n in turn.u.things)):
        things = talked
    things = things or talked
    if not things or (turn.u.intent == "ask_what_happens" and turn.u.containers):
        return None
    _, open_ = answered(turn.book, things)
    if open_:
        return turn.decide(things) if turn.named_things() else None
    state, reply = turn.decide(things)
    return state, replace(reply, focus=turn.u.intent)


def things(turn: Turn) -> tuple[State, Reply] | None:
    """Answer for every thing the message names."""
    corrects = turn.u.intent == "correct"
    points = ("pointing" in turn.u.manners or corrects) and turn.u.intent in OF_THE_LAST
    if turn.state.last and about_last.kinds_named(turn) and not turn.u.things:
        points = True
    another = other_kind(turn)
    if another:
        return another
    if speaks_of_last(turn):
        return about_last.more_said(turn) or turn.again()
    if turn.state.last and (points or "varying" in turn.u.manners):
        more = about_last.more_said(turn)
        if more:
            return more
    goes_on = turn.u.intent == "ask_follow_on" or tells_of_last(turn)
    follows = turn.state.last and goes_on and turn.u.things
    if follows and all(n.placed for n in turn.u.things):
        return about_last.more_said(turn) or turn.again()
    things = turn.named_things()
    if turn.u.intent in CHAT and turn.u.confidence > 0.8:
        things = []
    if things:
        things = [in_context(turn, t, things) for t in things]
        things = [open_question.described(turn, t) for t in things]
        return turn.decide(things + listed_unknown(turn))
    fresh = new_unknown(turn)
    puzzling = "described" in turn.u.manners and not turn.u.signs and not turn.state.condition
    if puzzling and (fresh or turn.u.intent in ("ask_destination", "off_topic")):
        return turn.state, turn.made("unclear", parts=(("described", {}),))
    return turn.decide(fresh) if fresh else None


def speaks_of_last(turn: Turn) -> bool:
    """Whether a message is about what was answered last, and names other things only in passing:
    "I've wrapped it in card", "do I squash them like a can"."""
    if not turn.state.last or turn.state.condition or not turn.u.things:
        return False
    pointing_first = "pointing_first" in turn.u.manners
    if pointing_first and "riddance" not in turn.u.manners:
        return True
    if "wrapping" in turn.u.manners or not all(n.generic or n.placed for n in turn.u.things):
        return False
    varies = "varying" in turn.u.manners or all(n.placed for n in turn.u.things)
    return pointing_first or (varies and "pointing" in turn.u.manners)


def tells_of_last(turn: Turn) -> bool:
    """Whether a message tells a condition of what was answered last: "greasy from doughnuts"."""
    if turn.u.intent != "state_condition" or turn.state.condition:
        return False
    if any(n.item and turn.book.items[n.item].hazard for n in turn.u.things):
        return False
    stated = {f.condition: f.value for f in turn.u.facts}
    return any(learns(turn.book, t, stated) for t in turn.state.last)


def hazardous(turn: Turn) -> bool:
    """Whether what was answered last is dangerous: strange words about it make no new thing."""
    return any(t.item and turn.book.items[t.item].hazard for t in turn.state.last)


def new_unknown(turn: Turn) -> list[Thing]:
    """The things of the message that no rule knows, where it asks about something.

    Of several stretches of strange words those behind an article ("a theremin") are taken, or
    else the last one.
    """
    if turn.state.last and not turn.u.signs:
        articled = any(n.article for n in turn.u.unknown)
        if "pointing_first" in turn.u.manners:
            return []
        if "pointing" in turn.u.manners and not articled:
            return []
        if not articled and "riddance" not in turn.u.manners and hazardous(turn):
            return []
    asking = turn.u.intent in ("ask_destination", "ask_follow_on", "ask_prepare", "correct")
    asking = asking or "riddance" in turn.u.manners or elsewhere.bare_name(turn)
    if not asking and not (turn.u.signs and turn.u.intent != "off_topic"):
        return []
    found = [n for n in turn.u.unknown if n.english] or list(turn.u.unknown)
    found = [n for n in found if n.article] or found[-1:]
    things = unknown_things(replace(turn.u, unknown=tuple(found)), turn.district, turn.on)
    if turn.u.signs:
        said = things[0].said if things else turn.u.text.strip()[:60]
        sign = turn.u.signs[0][0]
        return [Thing(None, said, turn.on.isoformat(), turn.district, sign=sign)]
    return things


def listed_unknown(turn: Turn) -> list[Thing]:
    """Unknown things in the same list as known ones ("jam jars and a theremin")."""
    if turn.u.intent != "ask_destination" or turn.state.condition:
        return []
    alone = tuple(n for n in turn.u.unknown if n.alone and n.english and n.article)
    return unknown_things(replace(turn.u, unknown=alone), turn.district, turn.on)


def in_context(turn: Turn, thing: Thing, others: list[Thing]) -> Thing:
    """A thing with what the message says of nothing else in particular, or the part of another
    that it is."""
    loose = learns(turn.book, thing, turn.u.loose)
    if loose:
        thing = thing.told({**loose, **thing.facts})
    found = part_of(turn, thing, [t for t in others if t is not thing])
    if not found:
        return thing
    part, whole = found
    facts = learns(turn.book, replace(thing, item=part), turn.u.loose)
    return replace(thing, item=part, facts={**whole.facts, **facts, **thing.facts})


def part_of(turn: Turn, thing: Thing, others: list[Thing]) -> tuple[str, Thing] | None:
    """The rule for a part of another thing, and that thing: "and the lid?" after a jam jar."""
    if thing.item is None or not turn.is_bare(thing.item):
        return None
    short = len(turn.u.text.split()) <= 6
    for last in (*others, *(turn.state.last if short else ())):
        if last.item is None:
            continue
        name = turn.book.items[last.item].name
        for whole in (last.said, name, name.split()[-1]):
            found = turn.book.named(f"{whole} {turn.book.items[thing.item].name}")
            if found:
                return found, last
    return None


def compound(turn: Turn, kind: str, thing: str) -> str | None:
    """The item named by a kind and a thing, either of them in one or many: "crackers" and "box"."""
    kinds = (kind, *singles(kind))
    things = (thing, *singles(thing))
    found = (turn.book.named(f"{k} {t}") for k in kinds for t in things)
    return next((f for f in found if f), None)


def other_kind(turn: Turn) -> tuple[State, Reply] | None:
    """Another kind of what was answered last, told in a word or two: "knitting" after "needle",
    "glass" after "a bottle"."""
    state = turn.state
    if state.condition or len(state.last) != 1 or len(turn.u.text.split()) > FEW:
        return None
    if {"asking", "riddance"} & turn.u.manners or turn.u.declines or turn.u.districts:
        return None
    last = state.last[0]
    named = [n.said for n in (*turn.u.things, *turn.u.unknown)]
    stated = {f.condition: f.value for f in turn.u.facts}
    if last.item is None or len(named) != 1:
        return None
    for bare in heads_of(turn.book, replace(last, item=None)):
        found = compound(turn, named[0], bare)
        if found and found != last.item and found not in {n.item for n in turn.u.things}:
            said = f"{named[0]} {bare}"
            facts = learns(turn.book, Thing(found, said, last.on), stated)
            return turn.decide([replace(last, item=found, said=said, facts=facts, ruled_out=())])
    return None


def kind_told(turn: Turn) -> tuple[State, Reply] | None:
    """A reply that tells which kind of the bare word asked about is meant: "yoghurt" after "pot",
    "toothpaste" after "tube"."""
    waiting = turn.state.waiting[0] if turn.state.condition and turn.state.waiting else None
    if waiting is None or waiting.item is None or not turn.is_bare(waiting.item):
        return None
    for named in (*turn.u.things, *turn.u.unknown):
        said = named.said
        for bare in (waiting.said.lower(), turn.book.items[waiting.item].name):
            found = compound(turn, said, bare)
            if found:
                stated = {**turn.u.loose, **named.facts}
                facts = learns(turn.book, Thing(found, said, waiting.on), stated)
                told = replace(waiting, item=found, facts={**waiting.facts, **facts})
                return open_question.resume(turn, (told, *turn.state.waiting[1:]))
    return None
