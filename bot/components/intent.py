"""The intent classifier: the framework's logistic regression, without its class balancing.

Balancing gives a short class such as greetings the weight of a long one, and a bare "itemword" then
looks like a greeting. The examples already come in about the shares people send them.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from rasa.engine.recipes.default_recipe import DefaultV1Recipe
from rasa.engine.storage.resource import Resource
from rasa.engine.storage.storage import ModelStorage
from rasa.nlu.classifiers.logistic_regression_classifier import LogisticRegressionClassifier


@DefaultV1Recipe.register(DefaultV1Recipe.ComponentType.INTENT_CLASSIFIER, is_trainable=True)
class IntentClassifier(LogisticRegressionClassifier):  # type: ignore[misc]
    """Logistic regression with a regularisation strength `C` of its own."""

    @staticmethod
    def get_default_config() -> dict[str, Any]:
        """The framework's settings, and `C`."""
        return {**LogisticRegressionClassifier.get_default_config(), "C": 1.0}

    def __init__(
        self, config: dict[str, Any], name: str, model_storage: ModelStorage, resource: Resource
    ) -> None:
        super().__init__(config, name, model_storage, resource)
        self.clf.set_params(class_weight=None, C=self.config["C"])

    @classmethod
    def load(cls, *args: Any, **kwargs: Any) -> IntentClassifier:
        """A trained component, its weights laid out so that no message copies them."""
        component = super().load(*args, **kwargs)
        component.clf.coef_ = np.asfortranarray(component.clf.coef_)
        return component
