"""Compares intent classifiers on the same evidence, by the held-out messages.

`python -m bot.measure.classifiers`. For each: the share of looked-at messages whose intent fits,
and how many unrelated messages it would answer if it were to lose one in a hundred questions.
"""

from __future__ import annotations

import time
from typing import Any

from bot import lean

LEAST = -20.0
"""Lowest logarithm of a probability that is told apart."""


def evidence_of(messages: list[str], reader: Any, masks_only: bool) -> list[list[str]]:
    """What a classifier is shown of each message."""
    from bot.language.evidence import evidence
    from bot.language.report import masked

    out = []
    for text in messages:
        findings = reader.read(text)
        seen = evidence(findings, [word for word, _, _ in masked(findings, reader.context)])
        out.append([s for s in seen if s.startswith("m:") or not masks_only])
    return out


def row(
    name: str, classes: Any, held: Any, other: Any, turns: Any, asked: Any, took: float | None
) -> None:
    """Print one classifier's figures from its scores for each message and class."""
    import numpy as np

    from bot.measure.reliability import MEANT

    best = held.argmax(1)
    fits = np.mean([classes[k] in MEANT[t.intent] for k, (_, t) in zip(best, turns, strict=True)])
    place = list(classes).index("off_topic")
    rest = [k for k in range(len(classes)) if k != place]
    margin = held[:, place] - held[:, rest].max(1)
    kept = np.quantile(margin[asked], 0.99)
    answered = int(((other[:, place] - other[:, rest].max(1)) <= kept).sum())
    seconds = "" if took is None else f"{took:.1f}"
    print(f"{name:44}{fits:>12.1%}{answered:>15}/{len(other)}{seconds:>9}", flush=True)


def main() -> None:
    """Train each classifier and print its row."""
    lean.first()
    import numpy as np
    from sklearn.feature_extraction.text import CountVectorizer
    from sklearn.linear_model import SGDClassifier
    from sklearn.naive_bayes import ComplementNB, MultinomialNB
    from sklearn.svm import LinearSVC

    from bot import paths
    from bot.assistant import Assistant
    from bot.measure import heldout
    from bot.measure.framework import MARKED, examples
    from bot.readers import component
    from bot.training import model_file

    reader = component(Assistant(model_file(paths.DATA)).agent).reader
    pairs = [(MARKED.sub(r"\1", t), intent) for intent, texts in examples().items() for t in texts]
    texts, intents = [t for t, _ in pairs], [i for _, i in pairs]
    turns = [
        (k, t)
        for c in heldout.conversations()
        if c.part != heldout.UNSEEN
        for k, t in enumerate(c.turns)
    ]
    asked = np.array([k == 0 and t.intent == "ask" for k, t in turns])
    regression = {"loss": "log_loss", "max_iter": 40, "average": True, "random_state": 7}
    rivals: list[tuple[str, bool, Any]] = [
        ("logistic regression, masked words only", True, SGDClassifier(alpha=3e-5, **regression)),
        ("logistic regression", False, SGDClassifier(alpha=3e-5, **regression)),
        ("complement naive Bayes", False, ComplementNB()),
        ("multinomial naive Bayes", False, MultinomialNB(alpha=0.1, fit_prior=False)),
        ("linear support vectors", False, LinearSVC(C=0.1, random_state=7)),
    ]
    print(f"{'':44}{'intent fits':>12}{'unrelated answered':>20}{'train s':>9}")
    scores: dict[str, tuple[Any, Any]] = {}
    for masks_only in (True, False):
        vectorizer = CountVectorizer(analyzer=list, binary=True)
        seen = vectorizer.fit_transform(evidence_of(texts, reader, masks_only))
        held, other = (
            vectorizer.transform(evidence_of(messages, reader, masks_only))
            for messages in ([t.say for _, t in turns], heldout.unrelated())
        )
        for name, _, model in (r for r in rivals if r[1] == masks_only):
            start = time.perf_counter()
            model.fit(seen, intents)
            took = time.perf_counter() - start
            score = getattr(model, "predict_log_proba", None) or model.decision_function
            scores[name] = (score(held), score(other))
            row(name, model.classes_, *scores[name], turns, asked, took)
    one, two = scores["logistic regression"], scores["complement naive Bayes"]
    both = [np.clip(a, LEAST, 0) + np.clip(b, LEAST, 0) for a, b in zip(one, two, strict=True)]
    row("the mean of regression and complement (ours)", model.classes_, *both, turns, asked, None)


if __name__ == "__main__":
    main()
