"""Fits sentences into a text message: plain letters, whole words, two parts at most.

Lengths are septets of the GSM 7-bit alphabet (3GPP TS 23.038): 160 in a lone message, 153 in each
part of a longer one (3GPP TS 23.040).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from anyascii import anyascii

from rules import sms

ONE = sms.GSM[0]
"""Septets of one message."""
MOST = 2 * sms.GSM[1]
"""Septets of the two parts a reply may have."""

MUST, SHOULD, MAY = range(3)
"""How much a sentence matters: always said; worth a second message; only if it costs none."""

PLAIN = {
    **dict.fromkeys("‘’‚‛′`´", "'"),
    **dict.fromkeys("“”„‟″«»", '"'),
    **dict.fromkeys("‐‑‒–—―−•", "-"),
    **dict.fromkeys("\r\n\t\u00a0\u2007\u2009\u202f", " "),
    "…": "...",
}


@dataclass(frozen=True, slots=True)
class Piece:
    """A sentence and how much it matters. Sentences of one `thought` are said as far as they fit:
    none after one that is left out."""

    text: str
    rank: int = MUST
    thought: str = ""


def plain(text: str) -> str:
    """A text in the GSM 7-bit alphabet: other signs and letters become the nearest that it has."""
    spelt = "".join(PLAIN.get(c, c) for c in text)
    spelt = "".join(anyascii(c) if sms.outside(c) else c for c in spelt)
    return " ".join("".join("'" if sms.outside(c) else c for c in spelt).split())


def join(texts: Iterable[str]) -> str:
    """Sentences in a row."""
    return " ".join(t for t in texts if t)


def length(texts: Iterable[str]) -> int:
    """Septets that plain sentences take in a row."""
    return sms.septets(join(texts))


def fit(pieces: Sequence[Piece]) -> str:
    """As many pieces as fit, in their order; all that must be said is said.

    One message is enough if what must and should be said fits into it.
    """
    plainly = [replace(p, text=plain(p.text)) for p in pieces if p.text.strip()]
    chosen = {n for n, p in enumerate(plainly) if p.rank == MUST}

    def with_(more: set[int]) -> list[str]:
        return [p.text for n, p in enumerate(plainly) if n in chosen | more]

    for rank in (SHOULD, MAY):
        room = MOST if rank == SHOULD or length(with_(set())) > ONE else ONE
        broken_off: set[str] = set()
        for n, piece in enumerate(plainly):
            if piece.rank != rank or piece.thought in broken_off:
                continue
            if length(with_({n})) <= room:
                chosen.add(n)
            elif piece.thought:
                broken_off.add(piece.thought)
    return join(with_(set()))


def sentences(text: str) -> list[str]:
    """A text cut after each sentence."""
    return [s for s in re.split(r"(?<=[.!?])\s+", text.strip()) if s]


def clip(text: str, room: int) -> str:
    """The start of a plain text in at most `room` septets, cut between two words."""
    if sms.septets(text) <= room:
        return text
    kept: list[str] = []
    for word in text.split(" "):
        if length([*kept, word]) + 3 > room:
            break
        kept.append(word)
    return join(kept).rstrip(" ,;:.-") + "..." if kept else ""


def as_far_as_fits(texts: Sequence[str], more: str) -> str:
    """Texts in their order until one does not fit; `more` says where the rest is."""
    said = [s for text in texts for s in sentences(plain(text))]
    if length(said) <= MOST:
        return join(said)
    tail = plain(more)
    kept: list[str] = []
    for sentence in said:
        if length([*kept, sentence, tail]) > MOST:
            break
        kept.append(sentence)
    if not kept:
        kept = [clip(said[0], MOST - length([tail]) - 1)]
    return join([*kept, tail])
