"""Finds the marks on packaging that people read out: "PP 5", "triangle with a 1", "c/pap 84"."""

from __future__ import annotations

import re

from bot.language.found import Context, Findings, Found
from bot.language.lexicon import Target

SAYS_MARK = re.compile(
    r"\b(triangle|symbol|mark|marks|marked|logo|arrows|stamp|stamped|code|number|numbered|no|says|"
    r"sign|recycling|moulded|embossed|plastic|type)\b"
)
FIGURES = {
    w: str(i) for i, w in enumerate("zero one two three four five six seven eight nine ten".split())
}
LETTERS_ALONE = 3
"""Letters shorter than this count only beside a figure or a word such as "mark"."""


def find_marks(findings: Findings, context: Context) -> None:
    """Add the marks of a message.

    A figure counts only beside letters or a word that speaks of a mark, so that "2 boxes" is none.
    """
    marks, words = context.lexicon.marks, findings.words
    text = " ".join(w.norm for w in words)
    spoken = bool(SAYS_MARK.search(text))
    found: list[Found] = []
    for i, word in enumerate(words):
        for size in (5, 4, 3, 2, 1):
            part = words[i : i + size]
            if len(part) < size or not (part[0].is_word and part[-1].is_word):
                continue
            key = "".join(FIGURES.get(w.norm, w.base) for w in part if w.is_word)
            if key not in marks or any(f.first <= i < f.last for f in found):
                continue
            if key.isdigit() and not (spoken and is_mark_figure(findings, i)):
                continue
            if key.isalpha() and len(key) < LETTERS_ALONE and not spoken and len(words) > size:
                continue
            found.append(Found(Target("mark", marks[key]), i, i + size))
            break
    findings.marks = found
    if found:
        findings.names = [
            n
            for n in findings.names
            if not any(m.first <= n.first and n.last <= m.last for m in found)
        ]


def is_mark_figure(findings: Findings, i: int) -> bool:
    """Whether a figure stands close behind (or just before) a word that speaks of a mark."""
    before = " ".join(w.norm for w in findings.words[max(0, i - 5) : i])
    after = " ".join(w.norm for w in findings.words[i + 1 : i + 5])
    return bool(SAYS_MARK.search(before)) or bool(
        re.match(r"^(in|inside|on)\b.*\b(triangle|arrows|symbol|mark|logo)\b", after)
    )
