"""One turn of a conversation: from what was understood and remembered to a reply.

The order matters and is the whole dialogue: a live danger, the answer to an open question, things
asked about, what is said of the things talked of last, questions that are not about a thing, and
last what was not understood.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta

from dateutil.easter import easter

from actions import about_last, asked_about, danger, elsewhere, inform, offer, open_question
from actions.reply import Answered, Asked, Reply
from actions.state import State, Thing
from actions.things import answered, asked, named_things
from actions.understanding import Understanding
from rules.model import Book


class Turn:
    """The making of one reply. `district` and `on` are what the channel says."""

    def __init__(
        self, book: Book, state: State, u: Understanding, district: str | None, on: date
    ) -> None:
        if district != state.channel_district:
            state = replace(state, district=None, channel_district=district)
        self.book = book
        self.u = u
        self.state = state
        named = u.districts[-1] if u.districts else None
        bare_district = len(u.text.split()) <= 3 and not u.things
        tells = u.intent == "correct" or (u.intent == "name_district" and not u.things)
        first_told = not (state.district or district) and len(u.districts) == 1
        if named and (tells or bare_district or first_told):
            self.state = state = replace(state, district=named)
        self.named_district = named
        self.district = named or state.district or district
        self.named_on = day_named(u.days[-1], on) if u.days else None
        self.on = self.named_on or on

    def reply(self) -> tuple[State, Reply]:
        """The new memory and the reply."""
        for step in STEPS:
            result = step(self)
            if result:
                return result
        return self.state, self.made("unclear", parts=(("unclear", {}),))

    def made(self, kind: str, **more: object) -> Reply:
        """A reply for this turn's district and day."""
        return Reply(kind=kind, district=self.district, on=self.on, **more)  # type: ignore[arg-type]

    def named_things(self) -> list[Thing]:
        """The things of the message that rules know."""
        return named_things(self.book, self.u, self.district, self.on)

    def decide(self, things: list[Thing]) -> tuple[State, Reply]:
        """Decide all things; ask one question if any needs one."""
        done, open_ = answered(self.book, merged(things))
        urgent = danger.emergency_by_rule(self, done)
        if urgent:
            return urgent
        parked = [t for t in self.state.waiting if not self.taken_up(t, things)]
        waiting = [t for t, _ in open_]
        question: Asked | None = None
        if open_:
            question = asked(*open_[0])
            tries = 1
        elif parked and self.state.condition:
            again = open_question.open_asked(self, parked[0])
            if again:
                waiting, question = [parked[0]], asked(parked[0], again)
                parked = parked[1:]
            tries = self.state.tries
        else:
            tries = 0
        last = tuple(a.thing for a in done) or self.state.last
        state = replace(
            self.state,
            waiting=tuple(waiting + parked) if question else (),
            condition=question.condition if question else None,
            tries=tries if question else 0,
            last=last,
        )
        items = (*done, *(Answered(t, None) for t in waiting))
        self.speak_of(items[0].thing)
        kind = "question" if question else kind_of(done)
        return state, self.made(kind, items=items, asks=question)

    def speak_of(self, thing: Thing) -> None:
        """Let the reply be for the district and day of a thing asked about earlier."""
        self.district, self.on = thing.district, thing.day

    def taken_up(self, waiting: Thing, things: list[Thing]) -> bool:
        """Whether a waiting thing is among these, or one of them is what it was asked about:
        "double A ones" after "battery"."""
        if waiting.item is None:
            return False
        meanings = {r.see for r in self.book.items[waiting.item].table.rows if r.see}
        return any(t.item == waiting.item or t.item in meanings for t in things)

    def is_bare(self, item: str) -> bool:
        """Whether an item is a bare word whose rows only point to others (tray, battery)."""
        return all(r.see for r in self.book.items[item].table.rows)

    def again(self) -> tuple[State, Reply] | None:
        """The last answer once more."""
        done, _ = answered(self.book, list(self.state.last))
        if done:
            self.speak_of(done[0].thing)
        return (self.state, self.made(kind_of(done), items=tuple(done))) if done else None


def merged(things: list[Thing]) -> list[Thing]:
    """Things without those that are the same rule under a second name and nothing else."""
    kept: list[Thing] = []
    for thing in things:
        same = next((t for t in kept if t.item == thing.item and agree(t, thing)), None)
        if thing.item is None or same is None:
            kept.append(thing)
        else:
            kept[kept.index(same)] = same.told(thing.facts)
    return kept


def agree(one: Thing, other: Thing) -> bool:
    """Whether nothing said of one thing contradicts what is said of the other."""
    return all(other.facts.get(c, v) == v for c, v in one.facts.items())


def kind_of(done: list[Answered]) -> str:
    """Whether all was decided by a rule, or something only with care."""
    doubtful = any(a.decision and (a.decision.item is None or a.decision.unsettled) for a in done)
    return "cautious" if doubtful else "answer"


def day_named(text: str, on: date) -> date:
    """A day named in a message, in the next year that has it still to come if none is named."""
    if text in RELATIVE:
        return RELATIVE[text](on)
    year, month, day = (int(x) for x in text.split("-"))
    for y in [year] if year else [on.year, on.year + 1]:
        try:
            found = date(y, month, day)
        except ValueError:
            continue
        if year or found >= on:
            return found
    return on


def easter_from(on: date) -> date:
    """Two weeks after the next Easter, when its holidays are over."""
    days: Iterator[date] = (easter(on.year + k) + timedelta(days=14) for k in (0, 1))
    return next(d for d in days if d >= on)


RELATIVE: dict[str, Callable[[date], date]] = {
    "now": lambda on: on,
    "tomorrow": lambda on: on + timedelta(days=1),
    "next-week": lambda on: on + timedelta(days=7),
    "next-month": lambda on: (on.replace(day=1) + timedelta(days=32)).replace(day=1),
    "next-year": lambda on: date(on.year + 1, 1, 1),
    "easter": easter_from,
    "summer": lambda on: date(on.year + (on.month > 5), 6, 1),
}
"""Days told by what comes first, as `nlu_data/words.yml` names them, reckoned from a day."""

Step = Callable[[Turn], tuple[State, Reply] | None]

STEPS: tuple[Step, ...] = (
    danger.emergency,
    offer.taken,
    elsewhere.service,
    open_question.open_question,
    inform.tag,
    offer.doubtful,
    asked_about.beside,
    asked_about.things,
    about_last.more_said,
    about_last.told_district,
    about_last.restate,
    inform.other,
    open_question.not_known,
    about_last.short_of,
)
