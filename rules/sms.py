"""How many parts a text message takes (3GPP TS 23.038; part sizes from 3GPP TS 23.040)."""

from __future__ import annotations

ALPHABET = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNOPQRSTUVWXYZÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
EXTENSION = frozenset("\f^{}\\[~]|€")

GSM = (160, 153)
UCS2 = (70, 67)
"""Units in a lone message and in each part of a longer one."""


def widths(text: str) -> tuple[list[int], tuple[int, int]]:
    """The units each character takes, and the sizes of a message in that alphabet."""
    if all(ch in ALPHABET or ch in EXTENSION for ch in text):
        return [2 if ch in EXTENSION else 1 for ch in text], GSM
    return [2 if ord(ch) > 0xFFFF else 1 for ch in text], UCS2


def septets(text: str) -> int:
    """The length of a text in units of the GSM 7-bit alphabet. Raises `ValueError` outside it."""
    units, sizes = widths(text)
    if sizes != GSM:
        raise ValueError(f"{outside(text)!r} is outside the GSM 7-bit alphabet")
    return sum(units)


def parts(text: str) -> int:
    """Parts of a text message. A character of two units is never split between parts."""
    units, (single, each) = widths(text)
    if sum(units) <= single:
        return 1
    count, used = 1, 0
    for unit in units:
        if used + unit > each:
            count, used = count + 1, 0
        used += unit
    return count


def outside(text: str) -> str:
    """The characters that make a message use the larger alphabet, in order of appearance."""
    return "".join(dict.fromkeys(ch for ch in text if ch not in ALPHABET | EXTENSION))
