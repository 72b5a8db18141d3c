"""Guesses which answer to a question a reply gives that has none of its phrases.

A naive Bayes classifier (scikit-learn) over the words of the phrases and replies in the rule files,
made anew with each book, so that a changed condition needs no training.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

import numpy as np
from sklearn.feature_extraction.text import CountVectorizer
from sklearn.naive_bayes import MultinomialNB

from bot.language.words import Word, fold, language, tokenizer, words_of
from rules.model import Book

SMOOTHING = 0.3
REACH = 2
"""Words behind a denial that are compared as denied."""


class Guesser:
    """The likely value of each condition a reply may be about."""

    def __init__(self, book: Book) -> None:
        texts: list[list[str]] = []
        classes: list[tuple[str, str]] = []
        for condition in book.conditions.values():
            if len(condition.values) < 2:
                continue
            for value in condition.values.values():
                for text in (value.label, *value.says, *value.replies):
                    texts.append(list(evidence(words_of(tokenizer()(fold(text))))))
                    classes.append((condition.id, value.id))
        self.values = sorted(set(classes))
        number = {c: k for k, c in enumerate(self.values)}
        vectorizer = CountVectorizer(analyzer=list, binary=True)
        seen = vectorizer.fit_transform(texts)
        model = MultinomialNB(alpha=SMOOTHING, fit_prior=False)
        model.fit(seen, [number[c] for c in classes])
        self.vocabulary = vectorizer.vocabulary_
        self.weights = np.ascontiguousarray(model.feature_log_prob_.T, dtype=np.float32)
        self.of: dict[str, list[int]] = defaultdict(list)
        for k, (condition_id, _) in enumerate(self.values):
            self.of[condition_id].append(k)

    def guesses(self, words: list[Word], least: int = 1) -> Iterator[tuple[str, str, float]]:
        """Each condition with its likeliest value and how likely that is, from 0 to 1.

        Nothing unless `least` words of the message have been used in speaking of a condition.
        """
        places = sorted({self.vocabulary[e] for e in evidence(words) if e in self.vocabulary})
        single = {e for e in evidence(words) if " " not in e and e in self.vocabulary}
        if len(single) < least:
            return
        scores = self.weights[places].sum(axis=0)
        for condition, places in self.of.items():
            part = scores[places]
            likely = np.exp(part - part.max())
            best = int(part.argmax())
            yield condition, self.values[places[best]][1], float(likely[best] / likely.sum())


def evidence(words: list[Word]) -> Iterator[str]:
    """The words that tell something, and pairs of them; those behind a denial apart."""
    lang = language()
    denied = 0
    last = ""
    for word in words:
        if not word.is_word:
            denied, last = 0, ""
            continue
        if word.norm in lang.negators:
            denied = REACH
            yield "no:"
            continue
        if word.norm in lang.skip:
            continue
        stem = word.norm[:6]
        told = f"not:{stem}" if denied else stem
        denied -= denied > 0
        yield told
        if last:
            yield f"{last} {told}"
        last = told
