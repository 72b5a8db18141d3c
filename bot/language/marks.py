"""Finds the marks on packaging that people read out: "PP 5", "triangle with a 1", "c/pap 84"."""

from __future__ import annotations

import re

from bot.language.found import Context, Findings, Found
from bot.language.lexicon import Target
from bot.language.spelling import english

SAYS_MARK = re.compile(
    r"\b(triangle|symbol|mark|marked|logo|arrow|stamp|stamped|code|numbered|number|"
    r"moulded|embossed|printed)\b"
)
FIGURES = {
    w: str(i)
    for i, w in enumerate(
        ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"]
    )
}


def find_marks(findings: Findings, context: Context) -> None:
    """Add the marks of a message.

    A figure counts only beside letters or a word that speaks of a mark, so that "2 boxes" is none.
    """
    marks, words = context.lexicon.marks, findings.words
    found: list[Found] = []
    for i in range(len(words)):
        for size in (5, 4, 3, 2, 1):
            part = words[i : i + size]
            if len(part) < size or not (part[0].is_word and part[-1].is_word):
                continue
            key = "".join(FIGURES.get(w.norm, w.base) for w in part if w.is_word)
            if key not in marks or any(f.first <= i < f.last for f in found):
                continue
            if key.isdigit() and not is_mark_figure(findings, i):
                continue
            if key.isalpha() and not is_mark_letters(findings, i, size):
                continue
            found.append(Found(Target("mark", marks[key]), i, i + size))
            break
    findings.marks = list({f.target.id: f for f in reversed(found)}.values())[::-1]
    read = {f.target.id for f in found}
    findings.names = [
        n
        for n in findings.names
        if n.target.id not in read
        and not any(m.first <= n.first and n.last <= m.last for m in found)
    ]


def is_mark_figure(findings: Findings, i: int) -> bool:
    """Whether a figure is read off a package and does not count things.

    "triangle with a 1", "number 5 on the bottom", "tray with a 6 on it"; not "3 of them", "6 jars".
    """
    words = findings.words
    before = " ".join(w.norm for w in words[max(0, i - 6) : i])
    after = [w.norm for w in words[i + 1 : i + 6]]
    if re.match(r"^(in|inside|on) (it|them|the|a|its)?", " ".join(after)) and re.search(
        r"\b(with|has|have|say|says|got|is) (a |an |the |number )?$", before + " "
    ):
        return True
    if before.endswith("plastic") and not after and words[i].base != "one":
        return True
    if SAYS_MARK.search(before):
        counted = (after[:1] and after[0] in ("of", "off")) or (
            i + 1 < len(words) and words[i + 1].plural
        )
        return not counted
    return bool(
        re.match(r"^(in|inside|on)\b.*\b(triangle|arrow|symbol|mark|logo)\b", " ".join(after))
    )


def is_mark_letters(findings: Findings, i: int, size: int) -> bool:
    """Whether letters are a mark: typed large, beside a word that speaks of one, or alone."""
    words = findings.words
    if len([w for w in words if w.is_word]) <= size:
        return True
    near = " ".join(w.norm for w in words[max(0, i - 5) : i + size + 5])
    if any(n.first <= i < n.last for n in findings.names):
        return bool(SAYS_MARK.search(" ".join(w.norm for w in words)))
    odd = not all(w.norm in english() for w in words[i : i + size] if w.is_word)
    return bool(SAYS_MARK.search(near)) or words[i].large or odd
