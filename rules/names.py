"""Names as the book's proof compares them.

The assistant knows more (irregular plurals, two spellings of a word); what is one name here is one
name there, too.
"""

from __future__ import annotations

import re
import unicodedata

KEPT = frozenset({"glasses"})
"""Plurals that are a thing of their own."""
ENDS_SAME = ("ss", "us", "is")
ENDS_ES = ("ches", "shes", "sses", "xes", "zzes", "oes")


def singular(word: str) -> str:
    """The singular of a word with a plain plural."""
    if word in KEPT or len(word) < 4 or not word.endswith("s") or word.endswith(ENDS_SAME):
        return word
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    return word[:-2] if word.endswith(ENDS_ES) else word[:-1]


def name_key(text: str) -> str:
    """A name in small letters and figures, each word singular, run together."""
    folded = unicodedata.normalize("NFKD", text.lower().replace("\u2019", "'"))
    plain = "".join(ch for ch in folded if not unicodedata.combining(ch))
    words = re.findall(r"[a-z0-9]+", re.sub(r"'s\b|'", "", plain))
    return "".join(map(singular, words))
