"""Reads a folder of rule files and says whether they may come into force."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from actions.reply import Answered
from actions.short import short_answer
from actions.state import Thing
from bot.examples import files
from bot.examples.conversations import form
from rules.cases import check_cases
from rules.check import Proof, ShortForm, prove
from rules.decide import Decision
from rules.finding import Finding
from rules.loader import BookError, load_texts, read_files
from rules.model import Book, Place


@dataclass(frozen=True, slots=True)
class Verdict:
    """What became of the files: a book, unless they cannot be read, and all that is wrong.

    `examples` are the texts of the examples beside them, `cases` how many single ones were tried.
    Conversations need the trained model and are not played here.
    """

    texts: Mapping[str, str]
    book: Book | None
    proof: Proof | None
    mistakes: tuple[Finding, ...]
    examples: Mapping[str, str] = field(default_factory=dict)
    cases: int = 0

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What keeps the files from coming into force."""
        return tuple(m for m in self.mistakes if m.severity == "error")

    @property
    def passed(self) -> bool:
        """Whether the files may come into force."""
        return self.book is not None and not self.errors


def short_form(book: Book, today: date) -> ShortForm:
    """The text message that says a decision."""

    def said(decision: Decision) -> str:
        thing = Thing(item=decision.item, said="This", on=today.isoformat())
        return short_answer(book, Answered(thing, decision))

    return said


def judge(folder: Path, today: date) -> Verdict:
    """Read, load and prove the rule files in a folder, and try the examples beside it."""
    texts: Mapping[str, str] = {}
    try:
        texts = read_files(folder)
    except BookError as error:
        return Verdict(texts, None, None, findings(error))
    examples, unread = files.read(folder)
    verdict = judge_texts(texts, examples, today)
    return replace(verdict, mistakes=(*verdict.mistakes, *unread))


def judge_texts(texts: Mapping[str, str], examples: Mapping[str, str], today: date) -> Verdict:
    """The same for the texts of rule files and examples, by path."""
    try:
        book = load_texts(texts)
    except BookError as error:
        return Verdict(texts, None, None, findings(error), examples)
    proof = prove(book, today, short_form(book, today))
    count, wrong = 0, list[Finding]()
    if not proof.errors:
        count, wrong = check_cases(book, files.cases(examples))
    wrong += form(examples)[1]
    return Verdict(texts, book, proof, (*proof.findings, *wrong), examples, count)


def findings(error: BookError) -> tuple[Finding, ...]:
    """Why files cannot be loaded."""
    return tuple(Finding(Place(m.file, m.line), m.what, m.cure) for m in error.mistakes)


def plain(finding: Finding) -> dict[str, str | int]:
    """A finding for a file a program reads."""
    place = finding.place
    return {
        "file": place.file,
        "line": place.line,
        "what": finding.what,
        "cure": finding.cure,
    }
