"""One turn of a conversation: from what was understood and remembered to a reply.

The order matters and is the whole dialogue: a live danger, the answer to an open question, things
asked about, what is said of the things talked of last, questions that are not about a thing, and
last what was not understood.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from actions import inform
from actions.reply import Answered, Asked, Reply
from actions.state import State, Thing
from actions.things import (
    answered,
    asked,
    heads_of,
    learns,
    look_up,
    named_things,
    unknown_things,
)
from actions.understanding import Understanding
from rules import Decision, Question, live_danger
from rules.model import DISTRICT, Book

SURE = 0.5
"""Confidence above which an intent that is not about a thing wins over a thing in the message."""

NAMED_OFF_TOPIC = 0.7
HAZARD_OFF_TOPIC = 0.9
"""The same for off-topic messages that name a thing, and a hazard."""

ABOUT_A_THING = frozenset(
    "ask_destination ask_follow_on correct state_condition decline_option ask_why ask_prepare "
    "ask_what_happens ask_container_contents ask_source name_district affirm deny".split()
)
ELSEWHERE = frozenset("referral off_topic".split())
CHAT = frozenset("greet thank goodbye mood".split())
BESIDE = frozenset("ask_why ask_prepare ask_what_happens ask_source".split())


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
        if named and (u.intent in ("name_district", "correct") or len(u.text.split()) <= 3):
            self.state = state = replace(state, district=named)
        self.named_district = named
        self.district = named or state.district or district
        self.named_on = day_named(u.days[-1], on) if u.days else None
        self.on = self.named_on or on

    def reply(self) -> tuple[State, Reply]:
        """The new memory and the reply."""
        for step in (
            self.emergency,
            self.service,
            self.open_question,
            self.beside,
            self.things,
            self.more_said,
            self.told_district,
            self.restate,
            self.topic,
            self.not_known,
        ):
            result = step()
            if result:
                return result
        return self.unclear()

    def made(self, kind: str, **more: object) -> Reply:
        """A reply for this turn's district and day."""
        return Reply(kind=kind, district=self.district, on=self.on, **more)  # type: ignore[arg-type]

    # A live danger

    def emergency(self) -> tuple[State, Reply] | None:
        """A danger that is happening now comes first."""
        if not self.u.dangers:
            return None
        kinds = [k for k, _ in self.u.dangers if k]
        things = named_things(self.book, self.u, self.district, self.on)
        dangerous = [t for t in things if t.item and self.hazard(t)]
        if not things:
            talked = [*self.state.waiting, *self.state.last]
            dangerous = [t for t in talked if t.item and self.hazard(t)][:1]
        chosen = dangerous[:1] or things[:1]
        if not chosen:
            said = self.u.unknown[0].said if self.u.unknown else self.u.dangers[0][1]
            chosen = [Thing(item=None, said=said, on=self.on.isoformat(), district=self.district)]
        kind = self.hazard(chosen[0]) or (kinds[0] if kinds else None)
        decision = live_danger(self.book, chosen[0].item, kind)
        item = Answered(chosen[0], decision, live=True)
        state = replace(self.state, waiting=(), condition=None, tries=0, last=tuple(chosen))
        return state, self.made("emergency", items=(item,))

    def emergency_by_rule(self, done: list[Answered]) -> tuple[State, Reply] | None:
        """A thing whose rule itself is an emergency (a grenade) is told of alone."""
        urgent = [a for a in done if a.decision and a.decision.destination == "emergency"]
        if not urgent:
            return None
        state = replace(self.state, waiting=(), condition=None, tries=0, last=(urgent[0].thing,))
        return state, self.made("emergency", items=tuple(urgent[:1]))

    def hazard(self, thing: Thing) -> str | None:
        """The kind of danger of a thing, or of the first meaning of its name that has one."""
        if thing.item is None:
            return None
        item = self.book.items[thing.item]
        seen = [self.book.items[r.see].hazard for r in item.table.rows if r.see]
        return item.hazard or next((h for h in seen if h), None)

    # Not about the rules

    def service(self) -> tuple[State, Reply] | None:
        """What the contact centre deals with, and what is no business of the scheme."""
        if self.u.intent not in ELSEWHERE or self.u.confidence < SURE:
            return None
        if self.state.condition and self.state.waiting and self.reply_facts(self.state.waiting[0]):
            return None
        if self.u.intent == "off_topic" and self.u.confidence < self.off_topic_from():
            return None
        if self.u.intent == "off_topic":
            return self.state, self.made("referral", parts=(("outside", {}),))
        return self.state, inform.referral(self, self.u)

    def off_topic_from(self) -> float:
        """The confidence from which a message is off topic, in spite of what it names.

        One that is nothing but a name never is; a hazard, or a name with no other sense, needs more
        than an everyday word.
        """
        if self.bare_name():
            return 1.01
        if any(n.item and not n.common and self.book.items[n.item].hazard for n in self.u.things):
            return HAZARD_OFF_TOPIC
        if any(not n.common for n in self.u.things) or self.u.signs:
            return NAMED_OFF_TOPIC
        return SURE

    def bare_name(self) -> bool:
        """Whether the message is only names and conditions: "a flumpwangler", "vase, glass"."""
        named = bool(self.u.things or self.u.marks) or any(n.article for n in self.u.unknown)
        return self.u.bare and named

    # The answer to an open question

    def open_question(self) -> tuple[State, Reply] | None:
        """Read the message as the answer to the question that is open."""
        state = self.state
        if not state.condition or not state.waiting:
            return None
        current = state.waiting[0]
        facts = self.reply_facts(current)
        if facts:
            return self.settle(facts)
        if self.u.declines and not self.u.things:
            out = tuple({*current.ruled_out, *self.u.declines})
            return self.resume((replace(current, ruled_out=out), *state.waiting[1:]))
        if self.asks_anew() and (self.named_things() or self.new_unknown()):
            return None
        if self.u.intent in BESIDE or self.u.intent in CHAT or self.informs():
            return None
        return self.ask_again()

    def asks_anew(self) -> bool:
        """Whether the message asks about something itself, rather than replying."""
        named = self.named_things()
        if self.u.asking and self.u.intent not in ("vague_reply", "state_condition"):
            return True
        words = len(self.u.text.split())
        return bool(named) and self.u.intent != "state_condition" and words <= 6

    def option_chosen(self) -> str | None:
        """The option of the open question that the message names by label, value or number."""
        if not self.state.condition or not self.state.waiting:
            return None
        question = self.open_asked(self.state.waiting[0])
        if question is None:
            return None
        text = " ".join(self.u.text.lower().strip(" .!?").split())
        for number, value in enumerate(question.values, 1):
            if question.condition == DISTRICT:
                label = self.book.districts[value].name
            else:
                label = self.book.conditions[question.condition].values[value].label
            if text in (str(number), value.replace("_", " "), value, label.lower().strip(" .!?")):
                return value
        return None

    def open_asked(self, thing: Thing) -> Question | None:
        """The question that is open for a thing, with its options."""
        result = look_up(self.book, thing)
        return result if isinstance(result, Question) else None

    def reply_facts(self, current: Thing) -> dict[str, str]:
        """What the message says in answer to the open question, and of other conditions."""
        condition = str(self.state.condition)
        chosen = self.option_chosen()
        if chosen is not None:
            return {condition: chosen}
        question = self.open_asked(current)
        values = question.values if question else ()
        if condition == DISTRICT:
            if self.named_district and not self.other_things(current):
                return {DISTRICT: self.named_district}
            return {}
        others = self.other_things(current)
        stated = {f.condition: f.value for f in self.u.facts}
        facts = learns(self.book, current, stated)
        if facts.get(condition) not in values and condition in facts:
            del facts[condition]
        if others and (condition not in facts or self.asks_anew()):
            return {}
        if facts:
            return facts
        word = {"affirm": "yes", "deny": "no"}.get(self.u.intent) if self.u.confidence > SURE else None
        for value in values if word else ():
            if word in self.book.conditions[condition].values[value].says:
                return {condition: value}
        return {}

    def other_things(self, current: Thing) -> list[Thing]:
        """Things named in the message that are not the one being asked about."""
        same = {current.item, *(t.item for t in self.state.waiting)}
        condition = self.state.condition
        answers = {f.start for f in self.u.facts if f.inside and f.condition == condition}
        passing = {
            n.item
            for n in self.u.things
            if n.placed or any(n.start <= start < n.end for start in answers)
        }
        return [t for t in self.named_things() if t.item not in same | passing]

    def settle(self, facts: dict[str, str]) -> tuple[State, Reply]:
        """Take in the answer, for every waiting thing that it can matter to."""
        waiting = list(self.state.waiting)
        if DISTRICT in facts:
            named = facts[DISTRICT]
            self.state = replace(self.state, district=named)
            self.district = named
            waiting = [replace(t, district=named) for t in waiting]
        else:
            condition = str(self.state.condition)
            first = waiting[0].told(learns(self.book, waiting[0], facts))
            rest = [
                t.told({condition: facts[condition]})
                if condition in facts and t.item and condition in self.book.conditions_that_matter(t.item)
                else t
                for t in waiting[1:]
            ]
            waiting = [first, *rest]
        return self.resume(tuple(waiting))

    def resume(self, waiting: tuple[Thing, ...]) -> tuple[State, Reply]:
        """Go on with the things that wait, the first question next."""
        self.state = replace(self.state, waiting=(), condition=None, tries=0)
        return self.decide(list(waiting))

    def ask_again(self) -> tuple[State, Reply]:
        """Put the open question once more in other words, then answer with care."""
        state = self.state
        current = state.waiting[0]
        question = self.open_asked(current)
        if question is None:
            return self.resume(state.waiting)
        if state.tries < 2:
            self.state = replace(state, tries=2)
            item = Answered(current, None)
            return self.state, self.made(
                "question", items=(item,), asks=asked(current, question, again=True)
            )
        given_up = (*current.given_up, question.condition)
        careful = replace(current, given_up=tuple(dict.fromkeys(given_up)))
        return self.resume((careful, *state.waiting[1:]))

    # Things asked about

    def named_things(self) -> list[Thing]:
        """The things of the message that rules know."""
        return named_things(self.book, self.u, self.district, self.on)

    def new_unknown(self) -> list[Thing]:
        """The things of the message that no rule knows, where it asks about something.

        Of several stretches of strange words those behind an article ("a theremin") are taken, or
        else the last one.
        """
        asking = self.u.intent in ("ask_destination", "ask_follow_on", "ask_prepare", "correct")
        asking = asking or self.bare_name()
        if not asking and not (self.u.signs and self.u.intent != "off_topic"):
            return []
        found = [n for n in self.u.unknown if n.english] or list(self.u.unknown)
        found = [n for n in found if n.article] or found[-1:]
        things = unknown_things(replace(self.u, unknown=tuple(found)), self.district, self.on)
        if self.u.signs:
            said = things[0].said if things else self.u.text.strip()[:60]
            sign = self.u.signs[0][0]
            return [Thing(None, said, self.on.isoformat(), self.district, sign=sign)]
        return things

    def beside(self) -> tuple[State, Reply] | None:
        """Why, how, and what happens: asked of the thing named, or of the one talked of."""
        if self.u.doubts and self.state.last and not self.state.condition:
            return self.again()
        if self.u.intent not in BESIDE:
            return None
        talked = [t for t in (*self.state.waiting[:1], *self.state.last) if t.item is not None]
        things = self.named_things()
        if talked and (self.points_back() or all(n.placed for n in self.u.things)):
            things = talked
        things = things or talked
        if not things or (self.u.intent == "ask_what_happens" and self.u.containers):
            return None
        done, open_ = answered(self.book, things)
        if open_:
            return self.decide(things) if self.named_things() else None
        state, reply = self.decide(things)
        return state, replace(reply, focus=self.u.intent)

    def points_back(self) -> bool:
        """Whether the message speaks of what was talked of before: "it", "those"."""
        words = self.u.text.lower().replace("'", " ").split()
        return bool({"it", "its", "that", "they", "them", "those", "these"} & set(words))

    def things(self) -> tuple[State, Reply] | None:
        """Answer for every thing the message names."""
        about_last = ("ask_follow_on", "state_condition", "correct", "decline_option")
        points = self.points_back() and self.u.intent in about_last
        if self.state.last and (points or self.u.varies):
            more = self.more_said()
            if more:
                return more
        if self.state.last and self.u.intent == "ask_follow_on" and self.u.things:
            if all(n.placed for n in self.u.things):
                return self.more_said() or self.again()
        things = [self.fuller_name(t) for t in self.named_things()]
        if self.u.intent in CHAT and self.u.confidence > 0.8:
            things = []
        if things:
            things = [self.in_context(t, things) for t in things]
            return self.decide(things + self.listed_unknown())
        fresh = self.new_unknown()
        return self.decide(fresh) if fresh else None

    def listed_unknown(self) -> list[Thing]:
        """Unknown things in the same list as known ones ("jam jars and a theremin")."""
        if self.u.intent != "ask_destination" or self.state.condition:
            return []
        alone = tuple(n for n in self.u.unknown if n.alone and n.english and n.article)
        return unknown_things(replace(self.u, unknown=alone), self.district, self.on)

    def in_context(self, thing: Thing, others: list[Thing]) -> Thing:
        """A thing with what the message says of nothing else in particular, or the part of another
        that it is."""
        loose = learns(self.book, thing, self.u.loose)
        if loose:
            thing = thing.told({**loose, **thing.facts})
        found = self.part_of(thing, [t for t in others if t is not thing])
        if not found:
            return thing
        part, whole = found
        return replace(thing, item=part, facts={**whole.facts, **thing.facts})

    def part_of(self, thing: Thing, others: list[Thing]) -> tuple[str, Thing] | None:
        """The rule for a part of another thing, and that thing: "and the lid?" after a jam jar."""
        if thing.item is None or not self.is_bare(thing.item):
            return None
        short = len(self.u.text.split()) <= 6
        for last in (*others, *(self.state.last if short else ())):
            if last.item is None:
                continue
            name = self.book.items[last.item].name
            for whole in (name, name.split()[-1], last.said):
                found = self.book.named(f"{whole} {self.book.items[thing.item].name}")
                if found:
                    return found, last
        return None

    def decide(self, things: list[Thing]) -> tuple[State, Reply]:
        """Decide all things; ask one question if any needs one."""
        done, open_ = answered(self.book, merged(things))
        urgent = self.emergency_by_rule(done)
        if urgent:
            return urgent
        parked = [t for t in self.state.waiting if not self.taken_up(t, things)]
        waiting = [t for t, _ in open_]
        question: Asked | None = None
        if open_:
            question = asked(*open_[0])
            tries = 1
        elif parked and self.state.condition:
            again = self.open_asked(parked[0])
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
        kind = "question" if question else kind_of(done)
        return state, self.made(kind, items=items, asks=question)

    def taken_up(self, waiting: Thing, things: list[Thing]) -> bool:
        """Whether a waiting thing is among these, or one of them is what it was asked about:
        "double A ones" after "battery"."""
        if waiting.item is None:
            return False
        meanings = {r.see for r in self.book.items[waiting.item].table.rows if r.see}
        return any(t.item == waiting.item or t.item in meanings for t in things)

    # More said of the things talked of last

    def more_said(self) -> tuple[State, Reply] | None:
        """New conditions, another district or day, or a refusal, for what was answered last."""
        last = [t for t in self.state.last if t.item is not None]
        later = self.named_on and not self.u.containers and not self.u.things
        stated = {f.condition: f.value for f in self.u.facts}
        unsure = self.u.confidence < SURE or bool(self.u.declines) or self.u.varies
        if not last or not (self.u.intent in ABOUT_A_THING or later or unsure):
            return None
        changed: list[Thing] = []
        for thing in last:
            new = thing
            facts = learns(self.book, thing, stated)
            if facts:
                new = new.told(facts)
            else:
                new = self.same_form(new, stated)
            if self.named_district:
                new = replace(new, district=self.named_district)
            if self.named_on:
                new = replace(new, on=self.named_on.isoformat())
            if self.declined(thing):
                new = replace(new, ruled_out=tuple({*new.ruled_out, *self.declined(thing)}))
            if new != thing:
                changed.append(replace(new, given_up=()))
        if changed:
            return self.decide(changed)
        nothing_new = self.u.intent in ("state_condition", "ask_follow_on") and not self.u.unknown
        return self.again() if nothing_new and not self.u.things else None

    def declined(self, thing: Thing) -> tuple[str, ...]:
        """The destinations that will not do, by name or because the answer's main one will not."""
        if self.u.declines:
            return self.u.declines
        if self.u.intent == "decline_option" and self.u.confidence > SURE:
            result = look_up(self.book, thing)
            if isinstance(result, Decision) and result.alternatives:
                return (result.destination,)
        return ()

    def same_form(self, thing: Thing, stated: dict[str, str]) -> Thing:
        """The thing of the same form but another kind: "no, I meant the plastic one", "car ones"."""
        for word in heads_of(self.book, thing):
            for kind in self.kinds_named():
                other = self.book.named(f"{kind} {word}")
                if other and other != thing.item:
                    return replace(thing, item=other, said=f"{kind} {word}", facts={})
            other = self.book.named(word)
            if not other or not self.is_bare(other):
                continue
            generic = replace(thing, item=other, facts={})
            facts = learns(self.book, generic, stated)
            if any(c in facts for c in self.book.items[other].table.ask):
                return generic.told(facts)
        return thing

    def kinds_named(self) -> list[str]:
        """The words before "one" or "ones" in the message: "electric", "metal"."""
        words = self.u.text.lower().strip(" .!?").split()
        return [words[k - 1] for k, w in enumerate(words) if k and w in ("one", "ones")]

    def is_bare(self, item: str) -> bool:
        """Whether an item is a bare word whose rows only point to others (tray, battery)."""
        return all(r.see for r in self.book.items[item].table.rows)

    def fuller_name(self, thing: Thing) -> Thing:
        """A thing that tells which kind of the bare word asked about: "yoghurt" after "pot"."""
        waiting = self.state.waiting[0] if self.state.condition and self.state.waiting else None
        if waiting is None or waiting.item is None or not self.is_bare(waiting.item):
            return thing
        names = {waiting.said.lower(), self.book.items[waiting.item].name}
        found = next(filter(None, (self.book.named(f"{thing.said} {n}") for n in names)), None)
        if not found:
            return thing
        self.state = replace(self.state, waiting=self.state.waiting[1:], condition=None, tries=0)
        return replace(thing, item=found, sign=None)

    def told_district(self) -> tuple[State, Reply] | None:
        """The resident only says where they live."""
        if self.named_district and not self.u.things and self.u.intent in ("name_district", "correct"):
            state = replace(self.state, district=self.named_district)
            if state.waiting:
                self.state = state
                return self.resume(tuple(replace(t, district=self.named_district) for t in state.waiting))
            name = self.book.districts[self.named_district].name
            return state, self.made("information", parts=(("noted_district", {"district": name}),))
        return None

    def restate(self) -> tuple[State, Reply] | None:
        """A vague or puzzled word after an answer: give the answer again."""
        if self.u.intent not in ("vague_reply", "repeat_or_confused") or self.state.condition:
            return None
        return self.again()

    def again(self) -> tuple[State, Reply] | None:
        """The last answer once more."""
        done, _ = answered(self.book, list(self.state.last))
        return (self.state, self.made(kind_of(done), items=tuple(done))) if done else None

    # Questions that are not about a thing

    def informs(self) -> bool:
        """Whether the message asks for something that is not about a thing."""
        return self.u.confidence > SURE and self.u.intent in inform.ANSWERS

    def topic(self) -> tuple[State, Reply] | None:
        """Containers, changes, places, the tag and so on; and small talk."""
        made = inform.answer(self)
        return (self.state, made) if made else None

    # What was not understood

    def not_known(self) -> tuple[State, Reply] | None:
        """A waiting question is put again rather than given up."""
        if self.state.condition and self.state.waiting:
            return self.ask_again()
        return None

    def unclear(self) -> tuple[State, Reply]:
        """Ask to say it another way."""
        return self.state, self.made("unclear", parts=(("unclear", {}),))


def merged(things: list[Thing]) -> list[Thing]:
    """Things without those that are the same rule and facts under a second name."""
    kept: list[Thing] = []
    for thing in things:
        same = [t for t in kept if t.item == thing.item and t.facts == thing.facts]
        if thing.item is None or not same:
            kept.append(thing)
    return kept


def kind_of(done: list[Answered]) -> str:
    """Whether all was decided by a rule, or something only with care."""
    doubtful = any(a.decision and (a.decision.item is None or a.decision.unsettled) for a in done)
    return "cautious" if doubtful else "answer"


def day_named(text: str, on: date) -> date:
    """A day named in a message; a year nobody named is the next one in which it is still to come."""
    if text == "now":
        return on
    year, month, day = (int(x) for x in text.split("-"))
    for y in [year] if year else [on.year, on.year + 1]:
        try:
            found = date(y, month, day)
        except ValueError:
            continue
        if year or found >= on:
            return found
    return on
