"""The assistant's own spaCy pipeline: blank English and one part per thing to find."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import jellyfish
import spacy
from rapidfuzz import fuzz, process
from spacy.language import Language as SpacyLanguage
from spacy.tokens import Doc

from bot.language.asked import keep_asked
from bot.language.conditions import find_facts
from bot.language.danger import find_danger
from bot.language.days import find_days
from bot.language.found import CONTEXTS, Context, Findings
from bot.language.lexicon import Lexicon
from bot.language.marks import find_marks
from bot.language.names import find_names
from bot.language.spelling import english
from bot.language.tagger import Tagger
from bot.language.unknown import find_unknown
from bot.language.words import Word, fold, language, tokenizer, words_of

LONGEST = 2000
"""Characters of a message that are read; the rest is passed over."""

TAG = re.compile(r"</?[a-zA-Z][^<>]{0,40}>|&[a-zA-Z]{2,6};")
"""Markup, which people paste in without meaning it."""

REPLY = 20
"""Words up to which a message may be a reply."""

LOOSE = ("word", "odd", "frame", "state")
"""Kinds of units that are words outside names."""

LIKELY = 0.7
"""Probability from which a guessed reply is reported."""

Step = Callable[[Findings, Context, Doc], None]


def plain_words(findings: Findings, context: Context, doc: Doc) -> None:
    """Words in full, singular and with typing mistakes put right."""
    speller = context.lexicon.speller
    words = []
    for w in words_of(doc):
        norm = w.norm
        if w.base not in speller.known and w.base not in english() and context.has("spelling"):
            corrected = speller.correct(norm)
            if corrected == norm != w.base and norm not in speller.known:
                corrected = speller.correct(w.base)
            norm = language().singular(corrected)
        words.append(replace(w, norm=norm))
    findings.words = fitted(words, context) if context.has("spelling") else words


def fitted(words: list[Word], context: Context) -> list[Word]:
    """Of several words a mistyped one may stand for, the one that makes a name with its neighbour:
    "pait tin" is a paint tin, not a pair of tins."""
    names, speller = context.lexicon.names, context.lexicon.speller
    for i, word in enumerate(words):
        plain = word.base in speller.known or word.norm in context.frame
        if plain or len(word.base) < 3 or not word.is_word:
            continue
        real = word.base in english()
        before = words[i - 1].norm if i else ""
        after = words[i + 1].norm if i + 1 < len(words) else ""
        if (before and before + word.norm in names) or (after and word.norm + after in names):
            continue
        for option in speller.near(word.base):
            if real and jellyfish.metaphone(option) != jellyfish.metaphone(word.base):
                continue
            single = language().singular(option)
            if (after and single + after in names) or (before and before + single in names):
                words[i] = replace(word, norm=single)
                break
    return words


def topics(findings: Findings, context: Context, doc: Doc) -> None:
    """The topics whose example questions are nearest, with a likeness from 0 to 1."""
    text = " ".join(w.norm for w in findings.words if w.is_word)
    best = process.extract(
        text, context.asked, scorer=fuzz.token_sort_ratio, limit=3, score_cutoff=60
    )
    findings.topics = [(key[0], score / 100) for _, score, key in best]


def tag(findings: Findings, context: Context) -> None:
    """How likely each name, and each word outside one, is asked about, by where it begins."""
    if context.tagger:
        tags = context.tagger.tag(findings, context)
        findings.asked = {u.first: p for u, _, p in tags if u.kind == "item"}
        findings.asked_words = {u.first: p for u, _, p in tags if u.kind in LOOSE}


def guesses(findings: Findings, context: Context, doc: Doc) -> None:
    """What a short message most likely answers to each question it may be the answer to."""
    spoken = [w.norm for w in findings.words if w.is_word]
    plain = " ".join(spoken)
    if len(spoken) <= REPLY and not any(u in plain for u in language().unsure):
        named = {k for n in findings.of("item") for k in range(n.first, n.last)}
        rest = [w for k, w in enumerate(findings.words) if k not in named]
        if named:
            rest = [w for w in rest if w.norm not in context.frame | language().articles]
        found = context.guesser.guesses(rest, least=2 if named else 1)
        findings.guesses = [g for g in found if g[2] >= LIKELY]


STEPS: dict[str, Step] = {
    "lidwise_words": plain_words,
    "lidwise_names": lambda f, c, d: find_names(f, c),
    "lidwise_marks": lambda f, c, d: find_marks(f, c),
    "lidwise_conditions": lambda f, c, d: find_facts(f, c),
    "lidwise_tags": lambda f, c, d: tag(f, c),
    "lidwise_asked": lambda f, c, d: keep_asked(f, c),
    "lidwise_danger": lambda f, c, d: find_danger(f, c),
    "lidwise_days": lambda f, c, d: find_days(f, c, d.text),
    "lidwise_unknown": lambda f, c, d: find_unknown(f, c),
    "lidwise_topics": topics,
    "lidwise_guesses": guesses,
}


def register(name: str, step: Step) -> None:
    """Make a step known to spaCy under a name."""

    @SpacyLanguage.factory(name, default_config={"context": ""})
    def create(nlp: Any, name: str, context: str) -> Callable[[Doc], Doc]:
        shared = CONTEXTS[context]

        def run(doc: Doc) -> Doc:
            if doc._.findings is None:
                doc._.findings = Findings()
            step(doc._.findings, shared, doc)
            return doc

        return run


for _name, _step in STEPS.items():
    register(_name, _step)

_numbers = itertools.count()


class Reader:
    """Reads messages against one rule book.

    `frame` and `seen` are word lists learnt in training; see `Context`.
    """

    def __init__(
        self,
        lexicon: Lexicon,
        frame: frozenset[str],
        seen: frozenset[str],
        off: frozenset[str] = frozenset(),
        tagger: Tagger | None = None,
    ) -> None:
        self.context = Context(lexicon, frame, seen, off, tagger)
        key = f"{lexicon.book.version}-{next(_numbers)}"
        CONTEXTS[key] = self.context
        try:
            self.nlp = spacy.blank("en")
            self.nlp.tokenizer = tokenizer()
            for name in STEPS:
                if name.removeprefix("lidwise_") in off:
                    continue
                self.nlp.add_pipe(name, config={"context": key})
        finally:
            del CONTEXTS[key]

    def read(self, text: str) -> Findings:
        """What is found in a message."""
        plain = TAG.sub(lambda m: " " * len(m.group()), fold(text[:LONGEST]))
        return self.nlp(plain)._.findings
