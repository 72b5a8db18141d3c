"""E-mail addresses, phone numbers and postcodes in a message."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

import phonenumbers
import yaml

from bot import paths
from bot.privacy.found import Found

COUNTRY = "GB"
SHORTEST, LONGEST = 9, 15
"""Digits of a phone number with its area code; 15 is the most of ITU-T E.164."""

EMAIL = re.compile(
    r"""[\w.+'-]+ (?: \s?@\s? | \s*[\[(]\s*at\s*[\])]\s* )
        [a-z0-9-]+ (?: \s?\.\s?[a-z0-9-]+ )* \.\s?[a-z]{2,}(?![a-z])
      | [\w.+'-]+ \s+at\s+ [a-z0-9-]+ (?: (?:\s+dot\s+|\.)[a-z0-9-]+ )* (?: \s+dot\s+ ) [a-z]{2,}\b
      | [\w.+'-]+ @ [\w-]+ (?: [., ](?:co[., ]uk|org[., ]uk|com|net|org)\b )?""",
    re.IGNORECASE | re.VERBOSE,
)

RUN = re.compile(
    r"(?<![\w.,/])(?:\+|\(\+?|00)?[0-9oO](?:[ \t.,_/()*\N{EN DASH}-]{0,3}[0-9oO]){6,18}(?![\w])"
)
"""Digits as people space them, with o for 0."""
SPELT = re.compile(
    r"\b(?:plus|oh|o|zero|nought|one|two|three|four|five|six|seven|eight|nine)"
    r"(?:[\s,-]+(?:oh|o|zero|nought|double|triple|treble|hundred|one|two|three|four|five|six|seven"
    r"|eight|nine|[0-9])){6,14}\b",
    re.IGNORECASE,
)
LOCAL = re.compile(
    r"\b(?:phone|phone number|telephone|tel|mobile|mob|ring|call(?:ing)?|reach|text|number)\b"
    r"(?:\s+(?:me|us|him|her|them|back|is|on|at|no|number|my|:))*[\s:.]*"
    r"(?P<number>[0-9][0-9 -]{4,9}[0-9])(?![\w-])",
    re.IGNORECASE,
)
"""A number without its area code, told as one."""

POSTCODE = re.compile(
    r"(?<!['\w])(?P<area>[A-Za-z]{1,2})\s?(?P<district>[0-9oO][0-9A-Za-z]?)[ \t.,-]{0,3}"
    r"(?P<sector>[0-9oO])\s?(?P<unit>[ABD-HJLNP-UW-Zabd-hjlnp-uw-z]{2})\b"
)
"""The pattern of BS 7666 as GOV.UK published it for bulk data transfer (from memory): outward code
A9, A99, AA9, AA99, A9A or AA9A; inward code 9AA without the letters C, I, K, M, O and V. Letters O
for 0, missing and odd spaces are let in, since people type them."""
OUTWARD = re.compile(
    r"\bpost\s?code(?:\s+(?:is|area|of|for|us|me|here|starts?|begins?|with|:))*[\s:]*"
    r"(?P<code>[A-Za-z]{1,2}\s?[0-9][0-9A-Za-z]?)\b",
    re.IGNORECASE,
)


@cache
def parts(name: str) -> frozenset[str]:
    """A list of `postcodes.yml`."""
    path = paths.PROJECT / "bot" / "privacy" / "postcodes.yml"
    return frozenset(map(str, yaml.safe_load(path.read_text("utf-8"))[name]))


def emails(text: str) -> Iterator[Found]:
    """E-mail addresses, with `at` and `dot` in words too."""
    if "@" in text or " at " in text.lower() or "at)" in text.lower() or "at]" in text.lower():
        for match in EMAIL.finditer(text):
            yield Found(match.start(), match.end(), "email")


def phones(text: str) -> Iterator[Found]:
    """Phone numbers: those the library finds, odd spacing, in words, and told as a number."""
    digits = sum(c.isdigit() for c in text)
    if digits >= 6:
        if digits >= SHORTEST:
            for found in phonenumbers.PhoneNumberMatcher(
                text, COUNTRY, leniency=phonenumbers.Leniency.POSSIBLE
            ):
                if SHORTEST <= len(figures(found.raw_string)) <= LONGEST and dials(
                    found.raw_string
                ):
                    yield Found(found.start, found.end, "phone")
        for match in RUN.finditer(text):
            written = match[0]
            if SHORTEST <= len(figures(written)) <= LONGEST and dials(written):
                yield Found(match.start(), match.end(), "phone")
        for match in LOCAL.finditer(text):
            if 6 <= len(figures(match["number"])) <= 11:
                yield Found(match.start("number"), match.end("number"), "phone")
    for match in SPELT.finditer(text):
        yield Found(match.start(), match.end(), "phone")


def figures(written: str) -> str:
    """The digits of what is written."""
    return "".join(c for c in written.lower().replace("o", "0") if c.isdigit())


def dials(written: str) -> bool:
    """Whether it begins as a number does that is dialled; a bar code does not."""
    number = figures(written)
    return (
        "+" in written
        or number.startswith(("0", "44"))
        or (number.startswith("7") and len(number) == 10)
    )


def postcodes(text: str) -> Iterator[Found]:
    """Postcodes, and their first half where it is said to be one."""
    for match in POSTCODE.finditer(text):
        area = match["area"].upper()
        outward = (match["area"] + match["district"]).lower()
        if area not in parts("areas") or not any(
            c.isdigit() for c in match["district"] + match["sector"]
        ):
            continue
        if outward in parts("lamp_caps") and match["unit"].lower() in parts("units"):
            continue
        yield Found(match.start(), match.end(), "postcode")
    for match in OUTWARD.finditer(text):
        if re.match("[A-Za-z]+", match["code"])[0].upper() in parts("areas"):  # type: ignore[index]
            yield Found(match.start("code"), match.end("code"), "postcode")
