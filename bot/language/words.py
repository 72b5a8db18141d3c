"""Words as the assistant compares them: small letters, full words, singular, one spelling."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import spacy
import yaml
from spacy.tokenizer import Tokenizer
from spacy.tokens import Doc
from spacy.util import compile_infix_regex

WORDS = Path(__file__).resolve().parents[2] / "nlu_data" / "words.yml"


@dataclass(frozen=True, slots=True)
class Word:
    """One word of a message. `norm` is what is compared, `base` the word in full as typed,
    `start` and `end` where it was typed; `large` tells capitals."""

    norm: str
    base: str
    start: int
    end: int
    plural: bool = False
    large: bool = False

    @property
    def is_word(self) -> bool:
        """Whether it is a word or a figure, not punctuation."""
        return any(ch.isalnum() for ch in self.norm)


class Language:
    """The tables of `nlu_data/words.yml`."""

    def __init__(self, data: Mapping[str, Any]) -> None:
        self.shorthand: dict[str, list[str]] = {
            str(k): str(v).split() for k, v in data["shorthand"].items()
        }
        self.irregular: dict[str, str] = {str(k): str(v) for k, v in data["singular"].items()}
        self.same: dict[str, list[str]] = {str(k): str(v).split() for k, v in data["same"].items()}
        self.skip = frozenset(map(str, data["skip"]))
        self.small = frozenset(map(str, data["small"]))
        self.negators = frozenset(map(str, data["negators"]))
        self.negation_ends = frozenset(map(str, data["negation_ends"]))
        self.parts = frozenset(map(str, data["parts"]))
        self.joins_name = frozenset(map(str, data["joins_name"]))
        self.feared = frozenset(map(str, data["feared"]))
        self.still = frozenset(map(str, data["still"]))
        self.articles = frozenset(map(str, data["articles"]))
        self.placed = frozenset(map(str, data["placed"]))
        self.asking_before = frozenset(map(str, data["asking_before"]))
        self.asking = frozenset(map(str, data["asking"]))
        self.asking_pairs = frozenset(map(str, data["asking_pairs"]))
        self.plural_only = frozenset(map(str, data["plural_only"]))
        self.measures = frozenset(map(str, data["measures"]))
        self.denying = frozenset(map(str, data["denying"]))
        self.doubting = tuple(map(str, data["doubting"]))
        self.varying = tuple(map(str, data["varying"]))
        self.taken = frozenset(map(str, data["taken"]))
        self.family = frozenset(map(str, data["family"]))
        self.hedging = frozenset(map(str, data["hedging"]))
        self.riddance_words = frozenset(map(str, data["riddance_words"]))
        self.riddance = frozenset(map(str, data["riddance"]))
        self.long_past = tuple(map(str, data["long_past"]))
        self.after_a_no = frozenset(map(str, data["after_a_no"]))
        self.openers = frozenset(map(str, data["openers"]))
        self.holds = frozenset(map(str, data["holds"]))
        self.parting = re.compile(str(data["parting"]))
        self.made_behind = frozenset(map(str, data["made_behind"]))
        self.came_in = self.holds | frozenset(map(str, data["wraps"]))
        self.material_words = frozenset(map(str, data["material_words"]))
        self.kind_words = frozenset(map(str, data["kind_words"]))
        self.plain_yes = frozenset(map(str, data["plain_yes"]))
        self.plain_no = frozenset(map(str, data["plain_no"]))
        self.vague_words = frozenset(map(str, data["vague_words"]))
        self.names_it = frozenset(map(str, data["names_it"]))
        self.not_vague = frozenset(map(str, data["not_vague"]))
        self.not_described = frozenset(map(str, data["not_described"]))
        self.streams = frozenset(map(str, data["streams"]))
        self.lacking = frozenset(map(str, data["lacking"]))
        self.compound_middles = frozenset(map(str, data["compound_middles"]))
        self.unsure = tuple(map(str, data["unsure"]))
        self.vocatives = frozenset(map(str, data["vocatives"]))
        self.makes_toy = frozenset(map(str, data["makes_toy"]))
        self.noun_after = {str(k): str(v) for k, v in data["noun_after"].items()}
        self.makes_noun = frozenset(map(str, data["makes_noun"]))
        self.idioms = [str(x).split() for x in data["idioms"]]
        self.relative_days = {
            str(k): re.compile(rf"\b(?:{v})\b") for k, v in data["relative_days"].items()
        }
        self.pronouns = frozenset(map(str, data["pronouns"]))
        self.determiners = frozenset(map(str, data["determiners"]))
        self.pointing = {str(k): re.compile(str(v)) for k, v in data["pointing"].items()}
        self.months = [str(m) for m in data["months"]]

    def singular(self, word: str) -> str:
        """The singular of an English noun; other words come back as they are, or nearly so.

        Both sides of a comparison go through it, so that it must be the same, not always right.
        """
        if word in self.irregular:
            return self.irregular[word]
        if len(word) < 4 or not word.endswith("s") or word.endswith(("ss", "us", "is", "'s")):
            return word
        if word.endswith("ies") and len(word) > 4:
            return word[:-3] + "y"
        if word.endswith(("ches", "shes", "sses", "xes", "zzes", "oes")):
            return word[:-2]
        return self.irregular.get(word[:-1], word[:-1])

    def expand(self, word: str) -> list[str]:
        """The plain words a typed word stands for."""
        parts = self.shorthand.get(word, [word])
        return [q for p in parts for q in self.same.get(p, [p])]


@cache
def language() -> Language:
    """The language data, read once."""
    return Language(yaml.safe_load(WORDS.read_text(encoding="utf-8")))


def fold(text: str) -> str:
    """Text with curly quotes straightened, accents and invisible characters gone, one line.

    Every character keeps its place, so that positions in the result are positions in the text.
    """
    out = []
    for ch in text:
        if ch in "’‘`´":
            out.append("'")
        elif ch in "“”":
            out.append('"')
        elif unicodedata.category(ch) in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp"):
            out.append(" ")
        else:
            base = unicodedata.normalize("NFKD", ch)
            plain = "".join(c for c in base if not unicodedata.combining(c))
            out.append(plain if len(plain) == 1 else ch)
    return "".join(out)


@cache
def tokenizer() -> Tokenizer:
    """spaCy's English tokenizer, which here also parts words at plus, slash and ampersand."""
    nlp = spacy.blank("en")
    infixes = [*(nlp.Defaults.infixes or []), r"[+&_=*|~<>]", r"(?<![0-9])/|/(?![0-9])"]
    nlp.tokenizer.infix_finditer = compile_infix_regex(infixes).finditer
    return nlp.tokenizer


def words_of(doc: Doc) -> list[Word]:
    """The words of a tokenised text. One typed word may stand for several ("cant", "idk")."""
    lang = language()
    found = []
    for token in doc:
        typed = token.lower_ if token.lower_ in lang.shorthand else token.norm_.lower()
        for part in lang.expand(typed):
            single = lang.singular(part)
            for norm in lang.same.get(single, [single]):
                if norm.strip() and norm != "'s":
                    end = token.idx + len(token.text)
                    large = token.text.isupper() and len(token.text) > 1
                    plural = single != part or part in lang.plural_only
                    found.append(Word(norm, part, token.idx, end, plural, large))
    return found


def phrase_words(text: str) -> tuple[str, ...]:
    """A phrase of the rule files as it is compared: plain singular words, no punctuation."""
    return tuple(w.norm for w in words_of(tokenizer()(fold(text))) if w.is_word)


def joined(words: Iterable[str]) -> str:
    """Words run together, so that "egg box" and "eggbox" are the same."""
    return "".join(words)


def without_skips(words: Iterable[str]) -> tuple[str, ...]:
    """Words without the small ones that do not tell conditions apart."""
    return tuple(w for w in words if w not in language().skip)
