"""Training of the sequence model that tells what a message asks about from what it mentions."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from bot import paths
from bot.language import tagger
from bot.language.reader import Reader
from bot.language.words import fold, tokenizer, words_of

EXAMPLES = paths.TRAINING / "things.txt"
OFF = frozenset({"tags", "asked", "unknown", "topics", "guesses"})
"""Parts of the pipeline that come after the model, and so are not run for its training."""

MARK = re.compile(r"\[([^\]]*)\]\((thing|aside)\)")

Span = tuple[int, int, str]


def parsed(line: str) -> tuple[str, list[Span]]:
    """A line of the examples as plain text, and where each mark is in it."""
    text, spans, last = "", [], 0
    for m in MARK.finditer(line):
        text += line[last : m.start()]
        spans.append((len(text), len(text) + len(m.group(1)), m.group(2)))
        text += m.group(1)
        last = m.end()
    return text + line[last:], spans


def labelled(text: str, spans: list[Span], reader: Reader) -> tuple[list[list[str]], list[str]]:
    """What the model sees of each unit of a message, and what it should say of it."""
    findings = reader.read(text)
    units, seen = tagger.features(findings, reader.context)
    labels: list[str] = []
    last: Span | None = None
    for unit in units:
        start = findings.words[unit.first].start
        end = findings.words[unit.last - 1].end
        span = next((s for s in spans if s[0] < end and start < s[1]), None)
        if span and span[2] == "thing":
            labels.append(tagger.REST if span is last else tagger.THING)
        else:
            named = unit.kind in ("item", "word", "odd")
            labels.append(tagger.ASIDE if span and named else tagger.OTHER)
        last = span
    return seen, labels


def examples(reader: Reader) -> Iterator[tuple[list[list[str]], list[str]]]:
    """The marked examples of `nlu_data/things.txt`, as the model is trained on them."""
    for line in EXAMPLES.read_text(encoding="utf-8").splitlines():
        if line.strip():
            yield labelled(*parsed(line.strip()), reader)


def words_of_things() -> Counter[str]:
    """How often each word stands in a marked thing."""
    counts: Counter[str] = Counter()
    for line in EXAMPLES.read_text(encoding="utf-8").splitlines():
        for said, _ in MARK.findall(line):
            words = words_of(tokenizer()(fold(said)))
            counts.update({w for word in words for w in (word.norm, word.base)})
    return counts


def train(reader: Reader, path: Path) -> None:
    """Train the model and write it."""
    tagger.train(examples(reader), path)
