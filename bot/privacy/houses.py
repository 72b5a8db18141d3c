"""House and flat numbers in a message, with the street where one is told."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

import yaml

from bot import paths
from bot.privacy.found import Found
from bot.privacy.namelists import lists, things

WORD = r"[^\W\d_][\w'\N{RIGHT SINGLE QUOTATION MARK}-]*\.?"
NUMBER = (
    r"(?!(?:1[6-9]|20)[0-9]{2}(?![0-9]))[0-9]{1,4}(?:\s?[a-zA-Z](?![\w']))?"
    r"(?:\s?[-/\N{EN DASH}]\s?[0-9]{1,4}[a-zA-Z]?)?"
)
"""A number of a house, not a year: 3, 3b, 3-5, 3/1."""
CODE = r"[A-Za-z]{1,2}\s?[0-9][0-9A-Za-z]?\s{0,2}[0-9][A-Za-z]{2}\b"
BOUND = r"(?<![\w.,/:\N{POUND SIGN}-])"

LIVES = (
    r"\b(?:(?:liv(?:e|es|ing)|stay(?:s|ing)?|based|reside)\s+(?:in|at|on)|address(?:\s+(?:is|to))?|"
    r"(?:my|our|the|her|his)\s+(?:house|home|flat)\s+is|moved\s+(?:in)?to|come\s+to|"
    r"(?:collect(?:ed)?|pick(?:ed)?\s+(?:it|them|this)?\s*up)\s+(?:it|them|this)?\s*(?:from|at)|"
    r"deliver(?:ed)?\s+to|(?:here|neighbours?|lady|man|people|folk|resident)\s+(?:at|from|in)|"
    r"outside|opposite)"
)


@cache
def words(name: str) -> str:
    """The words of a list in `streets.yml`, as alternatives."""
    lists = yaml.safe_load((paths.PROJECT / "bot" / "privacy" / "streets.yml").read_text("utf-8"))
    return "|".join(sorted(map(str, lists[name]), key=len, reverse=True))


@cache
def patterns() -> tuple[re.Pattern[str], ...]:
    """What each pattern marks is its group `it`, or all of it."""
    middle = rf"(?:(?!(?:{words('not_in_a_name')})\b){WORD}\s+){{1,3}}?"
    number = rf"(?:house\s+)?(?:number|no\.?|nr\.?|\#)?\s*{NUMBER}"
    behind = rf"(?!\s+(?:{words('after_a_thing')})\b)"
    plain = rf"{BOUND}{number}[\s,]+{middle}(?:{words('sure')})\b\.?{behind}"
    return tuple(
        re.compile(pattern, flags)
        for pattern, flags in (
            (plain, re.IGNORECASE),
            (
                rf"{BOUND}{NUMBER}[\s,]+(?:The\s+)?(?:[A-Z]{WORD}\s+){{0,3}}(?:{words('doubtful').title()})\b",
                0,
            ),
            (
                rf"{LIVES}\s*:?\s+(?P<it>(?:(?:flat|apartment|apt|unit|room|studio)\s+{NUMBER}[\s,]+)?"
                rf"{number}(?:[\s,]+{middle}(?:{words('sure')}|{words('doubtful')})\b\.?)?)"
                rf"(?!\s*(?:{words('units')})\b)(?!\d)",
                re.IGNORECASE,
            ),
            (
                rf"\b(?P<it>(?:flat|apartment|apt|maisonette|studio\s+flat)\s+(?:no\.?\s*|number\s+)?{NUMBER})"
                rf"(?=\s*(?:$|[,.;:!?)]|{BOUND}[0-9]|(?:{words('behind_a_flat')})\b))",
                re.IGNORECASE,
            ),
            (
                rf"\b(?:at|from|outside|to|next\s+door\s+at|im|i'm|we're|in|by)\s+"
                rf"(?P<it>(?:house\s+)?(?:number|no\.?|nr\.?)\s*{NUMBER})"
                rf"(?!\s*(?:{words('units')}|plastics?|on|tins?|cans?|or\s+[0-9])\b)",
                re.IGNORECASE,
            ),
            (
                rf"{BOUND}{NUMBER}(?:[\s,]+{WORD}){{1,4}}?(?=[\s,]+{CODE})",
                re.IGNORECASE,
            ),
            (
                rf"\b(?:i'?m|we'?re|he'?s|she'?s|they'?re|me|us|it)\s+at\s+(?P<it>{NUMBER})"
                rf"(?=\s*(?:$|[,.;:!?)]\s|(?:{words('behind_a_flat')})\b))(?!\.\d)",
                re.IGNORECASE,
            ),
            (rf"\b(?P<it>house\s+(?:number|no\.?|nr\.?)\s*(?:is\s+)?{NUMBER})", re.IGNORECASE),
            (
                rf"\b(?:live|lives|living)\s+(?:at|in)\s+(?P<it>(?!(?:an?|the)\b){middle}"
                rf"(?:{words('house')}))\b",
                re.IGNORECASE,
            ),
        )
    )


NAMED = re.compile(
    rf"\b(?:at|from|to|outside|by|near|opposite|in|of)\s+(?P<it>{NUMBER}[\s,]+(?P<name>{WORD}))",
    re.IGNORECASE,
)
"""A number before what may be the name of a street."""


def houses(text: str) -> Iterator[Found]:
    """House numbers. A number before things ("7 bags", "no. 5 plastic") is none."""
    if not any(c.isdigit() for c in text) and " liv" not in text.lower():
        return
    for pattern in patterns():
        for match in pattern.finditer(text):
            group = "it" if "it" in pattern.groupindex else 0
            start, end = match.span(group)
            yield Found(start, start + len(text[start:end].rstrip()), "house number")
    for match in NAMED.finditer(text):
        if name_of_street(match["name"].rstrip(".")):
            yield Found(*match.span("it"), "house number")


def name_of_street(word: str) -> bool:
    """Whether a word is a person's name, as many streets have one, or stands in no dictionary."""
    small = word.lower()
    if small in things() or len(word) < 3:
        return False
    known = lists()
    named = small in known.sure_surnames or small in known.sure
    return named or (word[0].isupper() and small not in known.common)
