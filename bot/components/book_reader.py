"""The graph component that runs the assistant's spaCy pipeline over each message."""

from __future__ import annotations

import json
import logging
import os
from collections import Counter
from typing import Any

from rasa.engine.graph import ExecutionContext
from rasa.engine.recipes.default_recipe import DefaultV1Recipe
from rasa.engine.storage.resource import Resource
from rasa.engine.storage.storage import ModelStorage
from rasa.nlu.tokenizers.tokenizer import Token, Tokenizer
from rasa.shared.nlu.constants import ENTITIES, INTENT, TEXT
from rasa.shared.nlu.training_data.message import Message
from rasa.shared.nlu.training_data.training_data import TrainingData

from actions.current import SHELF
from bot.components import marked
from bot.language.evidence import evidence
from bot.language.lexicon import build
from bot.language.reader import Reader
from bot.language.report import entities, masked
from bot.language.tagger import Tagger
from bot.language.words import fold, phrase_words, tokenizer, words_of

logger = logging.getLogger(__name__)

EVIDENCE = "lidwise_evidence"
"""Where a message carries what the intent classifier sees of it."""

NOT_FRAME = frozenset({"off_topic", "gibberish"})
"""Intents whose words are not taken for those that questions about waste are made of."""

THINGS = 3
"""How many times more often a word of a question's frame must stand outside marked things."""

FRAME_TIMES = 3
"""Examples a word must stand in to be taken for part of a question's frame, not a thing."""


def left_out() -> frozenset[str]:
    """The parts a measurement runs without."""
    return frozenset(os.environ.get("LIDWISE_WITHOUT", "").split(","))


@DefaultV1Recipe.register(DefaultV1Recipe.ComponentType.MESSAGE_TOKENIZER, is_trainable=True)
class BookReader(Tokenizer):  # type: ignore[misc]
    """Finds what the rule book knows in a message, and masks it for the intent classifier.

    In training it learns only which words questions are made of; what can be asked about comes
    from the book in force, which may change while the assistant runs.
    """

    def __init__(
        self,
        config: dict[str, Any],
        storage: ModelStorage | None = None,
        resource: Resource | None = None,
        frame: frozenset[str] = frozenset(),
        seen: frozenset[str] = frozenset(),
        tagger: Tagger | None = None,
    ) -> None:
        super().__init__(config)
        self.storage, self.resource = storage, resource
        self.frame, self.seen, self.tagger = frame, seen, tagger
        self._reader: Reader | None = None

    @staticmethod
    def get_default_config() -> dict[str, Any]:
        """The settings every tokenizer of the framework has."""
        return {"intent_tokenization_flag": False, "intent_split_symbol": "_"}

    @classmethod
    def create(
        cls,
        config: dict[str, Any],
        model_storage: ModelStorage,
        resource: Resource,
        execution_context: ExecutionContext,
    ) -> BookReader:
        """A component yet to be trained."""
        return cls(config, model_storage, resource)

    @classmethod
    def load(
        cls,
        config: dict[str, Any],
        model_storage: ModelStorage,
        resource: Resource,
        execution_context: ExecutionContext,
        **kwargs: Any,
    ) -> BookReader:
        """A trained component."""
        with model_storage.read_from(resource) as folder:
            data = json.loads((folder / "words.json").read_text(encoding="utf-8"))
            tagger = Tagger((folder / "things.crf").read_bytes())
        frame, seen = frozenset(data["frame"]), frozenset(data["seen"])
        return cls(config, model_storage, resource, frame, seen, tagger)

    def train(self, training_data: TrainingData) -> Resource:
        """Learn the words of question frames: those of the examples that name no thing."""
        reader = Reader(build(SHELF.current()), frozenset(), frozenset(), marked.OFF)
        counts: Counter[str] = Counter()
        seen: set[str] = set()
        for example in training_data.intent_examples:
            text = example.get(TEXT)
            findings = reader.read(text)
            things = [
                (e["start"], e["end"])
                for e in example.get(ENTITIES) or []
                if e["entity"] == "unknown_item"
            ]
            for n in findings.of("item"):
                words = findings.words
                things.append((words[n.first].start, words[n.last - 1].end))
            for word in words_of(tokenizer()(fold(text))):
                if any(s <= word.start < e for s, e in things):
                    continue
                seen |= {word.norm, word.base}
                if example.get(INTENT) not in NOT_FRAME:
                    counts.update({word.norm, word.base})
        names = marked.words_of_things()
        frame = {w for w, n in counts.items() if n >= FRAME_TIMES and n > THINGS * names[w]}
        self.frame, self.seen = frozenset(frame), frozenset(seen)
        assert self.storage and self.resource
        with self.storage.write_to(self.resource) as folder:
            data = {"frame": sorted(frame), "seen": sorted(seen)}
            (folder / "words.json").write_text(json.dumps(data), encoding="utf-8")
            marked.train(
                Reader(build(SHELF.current(), self.frame), self.frame, self.seen, marked.OFF),
                folder / "things.crf",
            )
            self.tagger = Tagger((folder / "things.crf").read_bytes())
        return self.resource

    @property
    def reader(self) -> Reader:
        """The pipeline for the book in force; built anew when that changes."""
        book = SHELF.current()
        if self._reader is None or self._reader.context.lexicon.book.version != book.version:
            logger.info("Reading questions against rule book %s.", book.version)
            lexicon = build(book, self.frame)
            self._reader = Reader(lexicon, self.frame, self.seen, left_out(), self.tagger)
        return self._reader

    def tokenize(self, message: Message, attribute: str) -> list[Token]:
        """The words the classifier sees. The message's entities are set on the way."""
        text = message.get(attribute)
        if attribute != TEXT:
            return [Token(w, 0) for w in phrase_words(text)] or [Token("none", 0)]
        reader = self.reader
        findings = reader.read(text)
        parts = masked(findings, reader.context)
        message.set(EVIDENCE, list(evidence(findings, [word for word, _, _ in parts])))
        if message.get(INTENT) is None:
            message.set(ENTITIES, entities(findings, reader.context, text), add_to_output=True)
        if not parts:
            return [Token("nothingword", 0, max(1, len(text)))]
        return [Token(word, start, end) for word, start, end in parts]
