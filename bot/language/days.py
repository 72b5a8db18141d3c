"""Finds a day in a message: "from april 2027", "next february", "on 3 december", "2027-02-10"."""

from __future__ import annotations

import re

from bot.language.found import Context, Findings
from bot.language.words import language

ISO = re.compile(r"\b(\d{4})[-/](\d{1,2})[-/](\d{1,2})\b")
SLASHED = re.compile(r"\b(\d{1,2})[/.-](\d{1,2})[/.-](\d{4}|\d{2})\b")
NOW = "now"
"""Value of a day that is the channel's own."""
BEFORE = frozenset(
    [
        *("in", "from", "on", "by", "after", "before", "until", "next", "this", "last"),
        *("come", "of", "since", "early", "late", "mid", "end", "start", "beginning"),
    ]
)


def find_days(findings: Findings, context: Context, text: str) -> None:
    """Add days as `YYYY-MM-DD` with `0000` for a year and `01` for a day nobody named.

    A day told only by what comes first ("after easter", "next month") keeps its name.
    """
    found: list[tuple[str, int, int]] = []
    for pattern, order in ((ISO, (0, 1, 2)), (SLASHED, (2, 1, 0))):
        for m in pattern.finditer(text):
            year, month, day = (int(m.group(k + 1)) for k in order)
            year += 2000 if year < 100 else 0
            if (
                1 <= month <= 12
                and 1 <= day <= 31
                and not any(s <= m.start() < e for _, s, e in found)
            ):
                found.append((f"{year:04}-{month:02}-{day:02}", m.start(), m.end()))
    words = findings.words
    found += [(NOW, w.start, w.end) for w in words if w.norm in ("today", "now") and len(words) < 6]
    for i, word in enumerate(words):
        month = month_of(word.base)
        if not month:
            continue
        first, last, day, year = i, i + 1, 1, 0
        near = words[max(0, i - 3) : i]
        for back, w in enumerate(reversed(near), 1):
            digits = re.fullmatch(r"(\d{1,2})(st|nd|rd|th)?", w.base)
            if digits and 1 <= int(digits.group(1)) <= 31:
                day, first = int(digits.group(1)), i - back
                break
            if w.norm not in ("of", "the", "st", "nd", "rd", "th"):
                break
        for w in words[i + 1 : i + 4]:
            if re.fullmatch(r"20\d\d", w.base):
                year, last = int(w.base), words.index(w) + 1
                break
            digits = re.fullmatch(r"(\d{1,2})(st|nd|rd|th)?", w.base)
            if digits and day == 1 and first == i:
                day = int(digits.group(1))
                last = words.index(w) + 1
            elif w.is_word and w.norm not in ("the", "of", "st", "nd", "rd", "th"):
                break
        named = year or first < i or last > i + 1 or (i > 0 and words[i - 1].norm in BEFORE)
        if word.base in ("may", "march") and not named:
            continue
        if not named and len(word.base) < 4:
            continue
        start, end = words[first].start, words[last - 1].end
        if not any(s <= start < e for _, s, e in found):
            found.append((f"{year:04}-{month:02}-{day:02}", start, end))
    plain = " ".join(w.norm for w in words)
    for relative, pattern in language().relative_days.items():
        match = pattern.search(plain)
        if match and not found:
            first = plain[: match.start()].count(" ")
            last = first + match.group().count(" ") + 1
            found.append((relative, words[first].start, words[last - 1].end))
    findings.days = found


def month_of(word: str) -> int:
    """The number of a month by name or its first three letters, 0 for another word."""
    for number, name in enumerate(language().months, 1):
        if (
            word == name
            or (len(word) == 3 and name.startswith(word))
            or (word == "sept" and number == 9)
        ):
            return number
    return 0
