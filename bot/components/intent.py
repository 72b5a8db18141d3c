"""The intent classifier: the geometric mean of two linear ones that err in different ways.

Logistic regression is the better of the two at telling questions about waste apart, complement
naive Bayes at telling them from everything else; `python -m bot.measure.classifiers` compares them
with others. Both are trained with scikit-learn and stored as one table of weights each.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
from rasa.engine.graph import ExecutionContext, GraphComponent
from rasa.engine.recipes.default_recipe import DefaultV1Recipe
from rasa.engine.storage.resource import Resource
from rasa.engine.storage.storage import ModelStorage
from rasa.nlu.classifiers.classifier import IntentClassifier as Classifier
from rasa.shared.nlu.constants import INTENT
from rasa.shared.nlu.training_data.message import Message
from rasa.shared.nlu.training_data.training_data import TrainingData
from sklearn.feature_extraction.text import CountVectorizer
from sklearn.linear_model import SGDClassifier
from sklearn.naive_bayes import ComplementNB

from bot.components.book_reader import EVIDENCE, left_out

SEED = 7
SHARPNESS = 0.25
"""Power of the product of both, where 0.5 is their geometric mean. Less makes the confidence more
modest: this fits how often it is right (the reliability table of `make bench-understanding`)."""

RANKED = 5
"""Intents reported for each message, the likeliest first."""


def weights_of(texts: list[list[str]], intents: list[str]) -> tuple[dict[str, int], dict[str, Any]]:
    """Train on the evidence in messages: its vocabulary, and the weights of each classifier."""
    vectorizer = CountVectorizer(analyzer=list, binary=True)
    seen = vectorizer.fit_transform(texts)
    regression = SGDClassifier(
        loss="log_loss", alpha=3e-5, max_iter=40, average=True, random_state=SEED
    ).fit(seen, intents)
    bayes = ComplementNB().fit(seen, intents)
    return {str(w): int(k) for w, k in vectorizer.vocabulary_.items()}, {
        "regression": np.ascontiguousarray(regression.coef_.T, dtype=np.float32),
        "intercept": regression.intercept_.astype(np.float32),
        "bayes": np.ascontiguousarray(bayes.feature_log_prob_.T, dtype=np.float32),
    }


@DefaultV1Recipe.register(DefaultV1Recipe.ComponentType.INTENT_CLASSIFIER, is_trainable=True)
class IntentClassifier(GraphComponent, Classifier):  # type: ignore[misc]
    """Tells what a message wants from the evidence the book reader left on it."""

    def __init__(self, storage: ModelStorage, resource: Resource) -> None:
        self.storage, self.resource = storage, resource
        self.vocabulary: dict[str, int] = {}
        self.intents: list[str] = []
        self.weights: dict[str, Any] = {}

    @classmethod
    def create(
        cls,
        config: dict[str, Any],
        model_storage: ModelStorage,
        resource: Resource,
        execution_context: ExecutionContext,
    ) -> IntentClassifier:
        """A component yet to be trained."""
        return cls(model_storage, resource)

    @classmethod
    def load(
        cls,
        config: dict[str, Any],
        model_storage: ModelStorage,
        resource: Resource,
        execution_context: ExecutionContext,
        **kwargs: Any,
    ) -> IntentClassifier:
        """A trained component."""
        component = cls(model_storage, resource)
        with model_storage.read_from(resource) as folder:
            data = json.loads((folder / "intents.json").read_text(encoding="utf-8"))
            with np.load(folder / "weights.npz") as weights:
                component.weights = {name: weights[name] for name in weights.files}
        component.intents, component.vocabulary = data["intents"], data["vocabulary"]
        return component

    def train(self, training_data: TrainingData) -> Resource:
        """Learn from all examples that have an intent."""
        examples = training_data.intent_examples
        intents = [str(e.get(INTENT)) for e in examples]
        self.vocabulary, self.weights = weights_of([e.get(EVIDENCE) for e in examples], intents)
        self.intents = sorted(set(intents))
        with self.storage.write_to(self.resource) as folder:
            data = {"intents": self.intents, "vocabulary": self.vocabulary}
            (folder / "intents.json").write_text(json.dumps(data), encoding="utf-8")
            np.savez(folder / "weights.npz", **self.weights)
        return self.resource

    def probabilities(self, seen: list[str]) -> Any:
        """How likely each intent is, by the evidence in a message."""
        places = sorted({self.vocabulary[s] for s in seen if s in self.vocabulary})
        linear = self.weights["regression"][places].sum(axis=0) + self.weights["intercept"]
        each = 1.0 / (1.0 + np.exp(-np.clip(linear, -30.0, 30.0)))
        likely = self.weights["bayes"][places].sum(axis=0)
        bayes = np.exp(likely - likely.max())
        both = (each / each.sum() * bayes / bayes.sum()) ** SHARPNESS
        return both / both.sum()

    def process(self, messages: list[Message]) -> list[Message]:
        """Add the likeliest intent, and the next few, to each message."""
        for message in messages:
            seen = message.get(EVIDENCE)
            if seen is None:
                continue
            likely = self.probabilities(seen)
            order = np.argsort(-likely)[:RANKED]
            ranked = [{"name": self.intents[k], "confidence": float(likely[k])} for k in order]
            if "intent" in left_out():
                ranked = [{"name": "ask_destination", "confidence": 1.0}]
            message.set("intent", ranked[0], add_to_output=True)
            message.set("intent_ranking", ranked, add_to_output=True)
        return messages
