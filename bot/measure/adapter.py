"""Turns the entities of the framework's default pipeline into those the dialogue reads.

Only for comparison: the default pipeline finds words, this looks them up in the rule book's names
and phrases, spelt as they are, and gives each condition to the thing named before it.
"""

from __future__ import annotations

from typing import Any

from rasa.engine.graph import ExecutionContext, GraphComponent
from rasa.engine.recipes.default_recipe import DefaultV1Recipe
from rasa.engine.storage.resource import Resource
from rasa.engine.storage.storage import ModelStorage
from rasa.shared.nlu.constants import ENTITIES, TEXT
from rasa.shared.nlu.training_data.message import Message

from actions.current import SHELF
from bot.language.lexicon import Lexicon, Target, build
from bot.language.words import joined, phrase_words, without_skips


@DefaultV1Recipe.register(DefaultV1Recipe.ComponentType.ENTITY_EXTRACTOR, is_trainable=False)
class Adapter(GraphComponent):  # type: ignore[misc]
    """Looks up in the rule book what the framework's extractors found."""

    def __init__(self) -> None:
        self._lexicon: Lexicon | None = None

    @classmethod
    def create(
        cls,
        config: dict[str, Any],
        model_storage: ModelStorage,
        resource: Resource,
        execution_context: ExecutionContext,
    ) -> Adapter:
        """The component; it learns nothing."""
        return cls()

    @property
    def lexicon(self) -> Lexicon:
        """The names and phrases of the book in force."""
        if self._lexicon is None:
            self._lexicon = build(SHELF.current())
        return self._lexicon

    def process(self, messages: list[Message]) -> list[Message]:
        """Replace each message's entities."""
        for message in messages:
            found = sorted(message.get(ENTITIES) or [], key=lambda e: int(e["start"]))
            message.set(ENTITIES, self.read(found, message.get(TEXT)), add_to_output=True)
        return messages

    def read(self, found: list[dict[str, Any]], text: str) -> list[dict[str, Any]]:
        """The dialogue's entities for the framework's."""
        out: list[dict[str, Any]] = []
        things = 0
        for e in found:
            said = text[e["start"] : e["end"]]
            place = {"start": e["start"], "end": e["end"], "said": said}
            kind = e["entity"]
            if kind in ("thing", "unknown_item"):
                items = [t for t in self.named(said) if t.kind == "item"]
                if items:
                    value = items[0].id
                    generic = value in self.lexicon.generic.values()
                    more = {"group": str(things), "generic": generic}
                    out.append({"entity": "item", "value": value, **more, **place})
                    things += 1
                else:
                    more = {"english": True, "article": True, "alone": True}
                    out.append({"entity": "unknown", "value": said, **more, **place})
            elif kind == "state":
                for t in self.stated(said):
                    group = str(things - 1) if things else "0"
                    out.append(
                        {"entity": "fact", "role": t.id, "value": t.part, "group": group, **place}
                    )
            elif kind == "place":
                for t in self.named(said):
                    if t.kind != "item":
                        more = {"role": t.part or None}
                        out.append({"entity": t.kind, "value": t.id, **more, **place})
        return out

    def named(self, said: str) -> tuple[Target, ...]:
        """What a name stands for."""
        return self.lexicon.names.get(joined(phrase_words(said)), ())

    def stated(self, said: str) -> list[Target]:
        """The values of conditions a phrase stands for."""
        words = phrase_words(said)
        keys = {joined(words), joined(without_skips(words))}
        found = [t for k in sorted(keys) for t in self.lexicon.phrases.get(k, ())]
        return [t for t in dict.fromkeys(found) if t.kind == "value"]
