"""Answers from a rule book that is not in force, in a process that has the trained model.

The framework's own pipeline reads the messages; only the part that knows the rule book is another
one, in a copy of its own. Nothing here touches the book in force, or a resident's conversation.
"""

from __future__ import annotations

import copy
from dataclasses import dataclass
from datetime import date
from itertools import count
from typing import Any

from rasa.core.agent import Agent
from rasa.core.channels.channel import UserMessage
from rasa.shared.core.trackers import DialogueStateTracker

from actions import fit, understanding
from actions.reply import contract
from actions.state import State
from actions.turn import Turn
from actions.wording import Worded, render
from bot.channels.incoming import clean
from bot.components.book_reader import BookReader
from bot.language.lexicon import build
from bot.language.reader import Reader
from bot.language.tagger import Tagger
from bot.readers import component
from rules.model import Book


class TrialReader(BookReader):
    """The book reader with one book for good."""

    fixed: Reader

    @property
    def reader(self) -> Reader:
        """The pipeline for that book."""
        return self.fixed


@dataclass(frozen=True, slots=True)
class Said:
    """A reply: what is remembered after it, what a person reads, and the contract."""

    state: State
    worded: Worded
    answer: dict[str, Any]


class Trial:
    """A book to ask. Making one takes about a second; keep it from the event loop.

    It may be used from any thread, by one at a time.
    """

    def __init__(self, agent: Agent, book: Book) -> None:
        self.book = book
        reads = component(agent)
        # A model of its own: two threads must not tag with the same one.
        tagger = Tagger(reads.tagger.data) if reads.tagger else None
        reader = TrialReader(reads._config, frame=reads.frame, seen=reads.seen, tagger=tagger)
        reader.fixed = Reader(build(book, reads.frame), reads.frame, reads.seen, tagger=tagger)
        runner = copy.copy(agent.processor.graph_runner)
        nodes = dict(runner._instantiated_nodes)
        name = next(n for n, node in nodes.items() if node._component is reads)
        nodes[name] = copy.copy(nodes[name])
        nodes[name]._component = reader
        runner._instantiated_nodes = nodes
        self.processor = copy.copy(agent.processor)
        self.processor.graph_runner = runner
        self.tracker = DialogueStateTracker.from_events("trial", [])

    def parse(self, text: str) -> dict[str, Any]:
        """What the pipeline makes of a message."""
        message = UserMessage(text, sender_id="trial")
        return dict(self.processor._parse_message_with_graph(message, self.tracker))

    def say(
        self,
        text: str,
        state: State | None = None,
        *,
        district: str | None = None,
        on: date | None = None,
        channel: str | None = None,
    ) -> Said:
        """The reply to a message. `district` and `on` are what the channel would say."""
        book = self.book
        understood = fit.understood(book, understanding.from_message(self.parse(clean(text))))
        before = fit.remembered(book, state or State())
        district = district if district in book.districts else None
        after, reply = Turn(book, before, understood, district, on or date.today()).reply()
        worded = render(book, reply, short=channel == "sms")
        return Said(after, worded, contract(book, reply))


class Chat:
    """A trial that answers as `Assistant.say` does, one conversation for each sender."""

    def __init__(self, trial: Trial) -> None:
        self.trial = trial
        self.states: dict[str, State] = {}
        self.number = count()

    def say(self, message: str, sender: str | None = None, **metadata: Any) -> list[dict[str, Any]]:
        """Send one message and return the messages of the reply."""
        name = sender or f"trial-{next(self.number)}"
        on = metadata.get("on")
        said = self.trial.say(
            message,
            self.states.get(name),
            district=metadata.get("district"),
            on=date.fromisoformat(on) if on else None,
            channel=metadata.get("channel"),
        )
        # As the memory slot keeps it between two messages.
        self.states[name] = State.from_slot(said.state.to_slot())
        # The framework sends each paragraph on its own, unless there are buttons.
        words = said.worded
        parts = [words.text] if words.buttons else words.text.split("\n\n")
        texts: list[dict[str, Any]] = [{"text": part} for part in parts]
        return [*texts, {"custom": said.answer}]
