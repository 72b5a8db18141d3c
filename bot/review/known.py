"""Whether the words of a question are known to a rule book by now, and what danger they tell of."""

from __future__ import annotations

from functools import lru_cache

from bot.language.conditions import find_facts
from bot.language.found import Context, Findings
from bot.language.lexicon import build
from bot.language.names import find_names
from bot.language.reader import LONGEST, plain_words
from bot.language.words import fold, language, tokenizer
from bot.review.form import form_of, slip
from rules.model import Book


class Known:
    """Reads phrases with what is known of one book (`Context`)."""

    def __init__(self, context: Context) -> None:
        self.context = context
        self.book = context.lexicon.book
        self.item = lru_cache(20_000)(self.look)
        self.sign = lru_cache(20_000)(self.feel)

    def read(self, text: str) -> Findings:
        """The names and conditions in a text, asked about or not."""
        doc = tokenizer()(fold(text[:LONGEST]))
        findings = Findings()
        plain_words(findings, self.context, doc)
        find_names(findings, self.context)
        find_facts(findings, self.context)
        return findings

    def look(self, said: str) -> str | None:
        """The item a thing's words name now, if a name covers all that tells which thing it is."""
        form = form_of(said)
        if form.head is None:
            return None
        found = self.read(said)
        for name in found.of("item"):
            covered = [w.norm for w in found.words[name.first : name.last]]
            if all(any(w in c or slip(w, c) for c in covered) for w in form.words):
                return name.target.id
        return None

    def feel(self, text: str) -> str | None:
        """The first hazard sign in a text that is not denied."""
        facts = self.read(text).facts
        return next((f.target.id for f in facts if f.target.kind == "sign" and not f.negated), None)


LAST: dict[str, Known] = {}
"""What the last book knows, by its version."""


def known_to(book: Book) -> Known:
    """What a book knows, where no running assistant has it at hand. Takes some seconds once."""
    if book.version not in LAST:
        frame = language().skip | language().articles
        made = Known(Context(build(book), frame, frame))
        LAST.clear()
        LAST[book.version] = made
    return LAST[book.version]
