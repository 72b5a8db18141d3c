"""Plays the officer's conversations against a rule book."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bot.examples.files import conversations
from bot.play import checked, play
from rules.finding import Finding
from rules.model import Place
from rules.yamlfile import Document

if TYPE_CHECKING:
    from bot.trial import Trial

CURE = "Mend the rule, or correct the example if the new answer is right"


@dataclass(frozen=True, slots=True)
class Played:
    """How many conversations and turns were played, and what did not go as told."""

    conversations: int
    turns: int
    mistakes: tuple[Finding, ...]


def form(texts: Mapping[str, str]) -> tuple[dict[str, Document], list[Finding]]:
    """The conversations among some files, and what is wrong with their form."""
    read = {name: checked(name, text) for name, text in conversations(texts).items()}
    right = {name: document for name, (document, mistakes) in read.items() if not mistakes}
    wrong = [
        Finding(Place(m.file, m.line), m.what, m.cure)
        for _, mistakes in read.values()
        for m in mistakes
    ]
    return right, wrong


def run(trial: Trial, texts: Mapping[str, str]) -> Played:
    """Play each conversation among some files. Those without the right form are passed over."""
    from bot.trial import Chat

    turns = 0
    found: list[Finding] = []
    documents, _ = form(texts)
    for name, document in documents.items():
        chat = Chat(trial)
        for n, (said, _, wrong) in enumerate(play(document.data, chat.say, name)):
            turns += 1
            place = Place(name, document.line(("turns", n)))
            found += [Finding(place, f"after '{said}' {fault}", CURE) for fault in wrong]
    return Played(len(documents), turns, tuple(found))
