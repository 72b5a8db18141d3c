"""Gives the loaded model's book reader each new rule book before it is in force."""

from __future__ import annotations

from collections.abc import Callable

from rasa.core.agent import Agent

from actions.current import SHELF
from bot.components.book_reader import BookReader
from bot.language.lexicon import build
from bot.language.reader import Reader
from rules.model import Book


def component(agent: Agent) -> BookReader:
    """The book reader inside a loaded model. The framework has no public way to it."""
    nodes = agent.processor.graph_runner._instantiated_nodes.values()
    return next(n._component for n in nodes if isinstance(n._component, BookReader))


def follow_book(agent: Agent) -> None:
    """From now on a new book is read, and its lexicon made, off the messages' way."""
    reads = component(agent)

    def prepare(book: Book) -> Callable[[], None]:
        lexicon = build(book, reads.frame)
        reader = Reader(lexicon, reads.frame, reads.seen, tagger=reads.tagger)

        def put_in_force() -> None:
            reads._reader = reader

        return put_in_force

    SHELF.prepare = prepare
    SHELF.current()
    SHELF.followed = True
