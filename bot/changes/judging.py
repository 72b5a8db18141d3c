"""What a proposed change would do: check, examples, what changes, and questions tried on it."""

from __future__ import annotations

import contextlib
import hashlib
import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from bot.changes import proving
from bot.changes.change import Change
from bot.changes.places import Texts, split
from bot.changes.proving import Proved
from bot.changes.store import Changes
from bot.checking import judge_texts
from bot.examples import playing
from bot.examples.conversations import Played, run
from bot.examples.files import conversations
from rules.finding import Finding
from rules.loader import BookError, load_texts

if TYPE_CHECKING:
    from rasa.core.agent import Agent

    from bot.trial import Trial

KEPT = 12
"""Judgements that are kept, so that a page can be loaded again at once."""


UNREAD: tuple[Mapping[str, Any], str] = (
    {"kind": "no answer", "items": []},
    "The files as they are cannot be read.",
)
"""What stands for an answer of rule files with mistakes."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A question, and what is answered now and with the change (the contracts and the words)."""

    say: str
    district: str | None
    before: Mapping[str, Any]
    before_text: str
    after: Mapping[str, Any]
    after_text: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """All that is found out about a change. `played` is missing where there is no model."""

    proved: Proved
    played: Played | None
    tried: tuple[Tried, ...]
    conversations: int

    @property
    def mistakes(self) -> tuple[Finding, ...]:
        """Everything to read, errors and warnings."""
        return (*self.proved.mistakes, *(self.played.mistakes if self.played else ()))

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What keeps the change from coming into force."""
        return tuple(m for m in self.mistakes if m.severity == "error")


def faults(change: Change, texts: Texts) -> list[str]:
    """What is wrong with the files as a change would leave them, without a model."""
    return [str(m) for m in judge_texts(*split(texts), date.today()).errors]


class Judge:
    """Judges changes, one at a time; calls come from threads, never from the event loop.

    `agent` is the trained model, if there is one here. With `apart` the proof runs in a process of
    its own, which a server needs to go on answering.
    """

    def __init__(self, changes: Changes, agent: Agent | None, apart: bool = False) -> None:
        self.changes, self.agent = changes, agent
        self.prove = proving.prove_apart if apart else proving.prove
        self.lock = threading.Lock()
        self.known: OrderedDict[str, Judgement] = OrderedDict()
        self.trials: OrderedDict[str, Trial] = OrderedDict()

    def of(self, change: Change) -> Judgement:
        """The judgement of a change laid over the files as they are now."""
        return self.judged(change, self.changes.places.all(), self.changes.texts(change))

    def faults(self, change: Change, texts: Texts) -> list[str]:
        """What keeps a change from being applied, in lines."""
        found = self.judged(change, self.changes.places.all(), texts)
        return [str(m) for m in found.errors]

    def judged(self, change: Change, old: Texts, new: Texts) -> Judgement:
        """The judgement of going from some texts to others."""
        asked = list(change.about.get("questions") or ())
        key = digest(old, new, {"asked": repr(asked), "day": date.today().isoformat()})
        with self.lock:
            if key in self.known:
                self.known.move_to_end(key)
                return self.known[key]
            made = self.made(old, new, asked)
            self.known[key] = made
            while len(self.known) > KEPT:
                self.known.popitem(last=False)
            return made

    def made(self, old: Texts, new: Texts, asked: Sequence[Mapping[str, Any]]) -> Judgement:
        """A new judgement."""
        proved = self.prove(old, new)
        book, examples = split(new)
        number = len(conversations(examples))
        played, tried = None, list[Tried]()
        usable = proved.version and not proved.errors
        if self.agent is not None and usable and (number or asked):
            after = self.trial(proved.version, book)
            played = run(after, examples)
            data = self.changes.data
            playing.keep(data, playing.key_of(data, book, examples), played)
            if asked:
                try:
                    before = self.trial("", split(old)[0])
                except BookError:
                    before = None
                tried = [try_one(before, after, question) for question in asked]
        return Judgement(proved, played, tuple(tried), number)

    def trial(self, version: str, texts: Mapping[str, str]) -> Trial:
        """A book to ask. The last two are kept."""
        from bot.trial import Trial

        assert self.agent is not None
        book = None if version in self.trials else load_texts(texts)
        version = version if book is None else book.version
        if version not in self.trials:
            assert book is not None
            self.trials[version] = Trial(self.agent, book)
        self.trials.move_to_end(version)
        while len(self.trials) > 2:
            self.trials.popitem(last=False)
        return self.trials[version]


def try_one(before: Trial | None, after: Trial, question: Mapping[str, Any]) -> Tried:
    """A question put to both books. The files as they are may be broken: that may be why."""
    say, district = str(question.get("say") or "?"), question.get("district")
    new = after.say(say, district=district)
    told: tuple[Mapping[str, Any], str] = UNREAD
    if before is not None:
        with contextlib.suppress(LookupError):
            old = before.say(say, district=district)
            told = old.answer, old.worded.text
    return Tried(say, district, *told, new.answer, new.worded.text)


def digest(*parts: Mapping[str, str]) -> str:
    """A hash of some texts by name."""
    told = hashlib.sha256()
    for part in parts:
        for name in sorted(part):
            told.update(f"{name}\0{part[name]}\0".encode())
        told.update(b"\1")
    return told.hexdigest()
