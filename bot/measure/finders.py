"""Compares ways to find the name of a thing no rule knows, on the held-out messages.

`python -m bot.measure.finders`. A phrase is found if the way marks any part of it. Marks elsewhere
in the same messages count as wrong, if no expected thing stands there.
"""

from __future__ import annotations

import random
import time
from collections.abc import Callable

from bot import lean

Spans = list[tuple[int, int]]
PASSES = 12
"""Passes over the marked examples in training spaCy's recogniser."""


def by_spacy() -> Callable[[str], Spans]:
    """spaCy's own entity recogniser, trained on the marked examples."""
    import spacy
    from spacy.training import Example
    from spacy.util import filter_spans, minibatch

    from bot.components.marked import EXAMPLES, parsed

    nlp = spacy.blank("en")
    nlp.add_pipe("ner").add_label("thing")
    examples = []
    for line in EXAMPLES.read_text(encoding="utf-8").splitlines():
        text, marks = parsed(line.strip())
        doc = nlp.make_doc(text)
        spans = [
            doc.char_span(s, e, "thing", alignment_mode="expand")
            for s, e, kind in marks
            if kind == "thing"
        ]
        kept = [(s.start_char, s.end_char, "thing") for s in filter_spans(x for x in spans if x)]
        examples.append(Example.from_dict(doc, {"entities": kept}))
    chance = random.Random(7)
    optimizer = nlp.initialize(lambda: examples)
    for _ in range(PASSES):
        chance.shuffle(examples)
        for batch in minibatch(examples, 64):
            nlp.update(batch, sgd=optimizer, drop=0.2)
    return lambda text: [(e.start_char, e.end_char) for e in nlp(text).ents]


def main() -> None:
    """Measure each way and print its row."""
    lean.first()
    from bot import logs, paths

    logs.configure()
    from bot.assistant import Assistant
    from bot.language.tagger import REST, THING
    from bot.measure import heldout
    from bot.measure.framework import trained
    from bot.readers import component
    from bot.training import model_file

    reader = component(Assistant(model_file(paths.DATA)).agent).reader
    tagger = reader.context.tagger
    assert tagger

    def rest(text: str) -> Spans:
        f = reader.read(text)
        return [(f.words[u.first].start, f.words[u.last - 1].end) for u in f.unknown]

    def field(text: str) -> Spans:
        f = reader.read(text)
        tags = tagger.tag(f, reader.context)
        return [
            (f.words[u.first].start, f.words[u.last - 1].end)
            for u, label, _ in tags
            if label in (THING, REST) and u.kind != "item"
        ]

    framework = Assistant(trained(paths.DATA))

    def diet(text: str) -> Spans:
        found = framework.parse(text)["entities"]
        return [(e["start"], e["end"]) for e in found if e["entity"] == "unknown"]

    messages = []
    for c in heldout.conversations():
        for t in c.turns:
            if t.things and t.intent in ("ask", "more") and all(x.said for x in t.things):
                spans = [
                    (t.say.find(x.said or ""), len(x.said or ""), not x.items) for x in t.things
                ]
                messages.append((t.say, spans))
    print(f"{'':46}{'found':>10}{'wrong':>8}{'ms':>7}")
    for name, way in (
        ("what is left when all else is told (ours)", rest),
        ("conditional random field (crfsuite)", field),
        ("spaCy's entity recogniser", by_spacy()),
        ("DIET", diet),
    ):
        found = of = wrong = 0
        start = time.perf_counter()
        for say, spans in messages:
            got = way(say)
            for at, size, unknown in spans:
                if unknown:
                    of += 1
                    found += any(a < at + size and at < b for a, b in got)
            places = [(at, at + size) for at, size, _ in spans]
            wrong += sum(not any(a < y and x < b for x, y in places) for a, b in got)
        took = (time.perf_counter() - start) / len(messages) * 1000
        print(f"{name:46}{found:>6}/{of:<3}{wrong:>8}{took:>7.1f}", flush=True)


if __name__ == "__main__":
    main()
