"""One person's conversation, from the first message to the last."""

from __future__ import annotations

import random
from collections.abc import Generator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from bot.traffic import answering, openings
from bot.traffic.days import HERE
from bot.traffic.keyboard import typed
from bot.traffic.oracle import Meant, hear
from bot.traffic.persons import Person
from bot.traffic.phrases import bare, read
from rules.model import Book

MOST = 10
"""Messages after which anyone gives up."""


@dataclass(frozen=True, slots=True)
class Line:
    """A message, sent some seconds after the reply before it was read."""

    text: str
    wait: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a person says of the last answer, some seconds after it."""

    kind: str
    note: str
    wait: float


@dataclass(frozen=True, slots=True)
class Heard:
    """A reply: its contract, and the labels of its buttons."""

    answer: Mapping[str, Any]
    buttons: tuple[str, ...] = ()


Talk = Generator[Line | Verdict, Heard | None, None]
"""Gives messages and verdicts; takes the reply to each message."""
Saying = Generator[Line | Verdict, Heard | None, Heard]
"""The same, and ends with the last reply."""


@dataclass(slots=True)
class Visit:
    """A conversation under way. `meant` fills with what the person wanted, as it comes up."""

    person: Person
    book: Book
    rng: random.Random
    meant: list[Meant] = field(default_factory=list)
    sent: int = 0
    clock: float = 0.0

    @property
    def day(self) -> date:
        """The day it is for this person."""
        return datetime.fromtimestamp(self.person.at.timestamp() + self.clock, HERE).date()

    def talk(self) -> Talk:
        """All that this person says."""
        rng, person = self.rng, self.person
        of = openings.sort(rng, person, self.day)
        if person.channel == "webchat" and rng.random() < 0.08:
            yield from self.say(rng.choice(read("small")["hello"]))
        if of in ("known", "unknown"):
            yield from self.ask(of)
            while rng.random() < 0.2 and self.sent < MOST:
                yield from self.ask("unknown" if rng.random() < 0.12 else "known", more=True)
        elif rng.random() < 0.03:
            yield from self.say(rng.choice(read("small")["nonsense"]))
            yield from self.ask("known")
        else:
            meant, text = openings.other(rng, person, self.book, self.day, of)
            self.meant.append(meant)
            yield from self.say(self.dressed(text), meant)
        if person.channel != "panel" and rng.random() < 0.3:
            yield from self.say(rng.choice(read("small")["thanks"]))
            if rng.random() < 0.15:
                yield from self.say(rng.choice(read("small")["goodbye"]))

    def ask(self, of: str, more: bool = False) -> Talk:
        """Ask about a thing, or now and then two, until it is settled or given up."""
        rng = self.rng
        meant, case, words = openings.thing(rng, self.book, self.day, of)
        asked = [meant]
        if more:
            text = openings.states(rng, meant, case, openings.next_question(rng, words))
        else:
            second = openings.second(rng, self.person, self.day, meant)
            if second:
                asked.append(second[0])
                text = openings.both(rng, words, second[1])
            else:
                text = openings.question(rng, self.person, self.book, self.day, meant, words)
            text = self.dressed(openings.states(rng, meant, case, text))
        self.meant += asked
        heard = yield from self.settle((yield from self.say(text, *asked)), asked, case)
        if answering.misread(heard) and rng.random() < 0.6:
            heard = yield from self.settle((yield from self.say(bare(words), meant)), asked, case)
        if meant.verdict == "open":
            return
        verdict = answering.verdict(rng, self.person, meant)
        if verdict:
            wait = rng.uniform(3, 40)
            self.clock += wait
            yield Verdict(*verdict, wait)
        if self.person.channel != "panel" and rng.random() < 0.16 and self.sent < MOST:
            yield from self.say(answering.follow_on(rng, meant))

    def settle(self, heard: Heard, asked: list[Meant], case: dict[str, str]) -> Saying:
        """Reply to what is asked back, until nothing is or the person leaves."""
        unsure = False
        while self.sent < MOST:
            told = answering.reply(self.rng, self.person, heard, asked[0], case, unsure)
            if told is None:
                break
            unsure = told.vague
            still = [m for m in asked if m.verdict == "open"]
            heard = yield from self.say(told.text, *still, by_hand=told.by_hand)
        return heard

    def say(self, text: str, *meant: Meant, by_hand: bool = True) -> Saying:
        """Send a message and take in the reply."""
        sent = typed(self.rng, self.person, text) if by_hand else text
        wait = answering.pause(self.rng, self.person) if self.sent else 0.0
        self.clock += wait
        self.sent += 1
        heard = yield Line(sent, wait)
        assert heard is not None
        for one in meant:
            one.said.append(sent)
            hear(one, heard.answer, self.book, self.person.district, self.day)
        return heard

    def dressed(self, text: str) -> str:
        """A first message, now and then with personal data in it."""
        chance = 0.06 if self.person.channel != "panel" else 0.04
        return openings.personal(self.rng, text) if self.rng.random() < chance else text
