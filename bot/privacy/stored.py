"""What is stored of a turn: the same, without what tells of a person.

Only what came from a person's words is touched, so a scheme's own phone number in an answer stays.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from anyascii import anyascii

from bot.privacy.mask import findings, masked

OWN = frozenset({"said", "asked_as"})
"""Fields that hold words of a person and nothing else."""
QUOTING = frozenset({"text", "title", "payload", "label"})
"""Fields of the assistant's own words, which may quote a person's."""

Event = Mapping[str, Any]


class Told:
    """What a message told of a person, to be left out of what quotes it."""

    def __init__(self, message: str) -> None:
        pieces: dict[str, str] = {}
        for found in findings(message):
            words = message[found.start : found.end]
            whole = [words]
            if found.kind in ("name", "house number"):
                whole += [w for w in re.split(r"[\s,]+", words) if len(w) > 2 and not w.isdigit()]
            for piece in whole:
                plain = anyascii(piece)
                for spelt in (piece, piece[:1].upper() + piece[1:], piece.lower(), plain):
                    pieces.setdefault(spelt, f"[{found.kind}]")
        self.pieces = pieces
        longest = sorted(pieces, key=len, reverse=True)
        self.pattern = re.compile(
            rf"(?<!\w)(?:{'|'.join(map(re.escape, longest))})(?!\w)" if longest else r"(?!)"
        )

    def out_of(self, text: str) -> str:
        """A text that may quote the message, without it."""
        return self.pattern.sub(lambda match: self.pieces[match[0]], text) if self.pieces else text

    def cleaned(self, value: Any, name: str = "") -> Any:
        """Data with what it quotes left out."""
        if isinstance(value, str):
            if name in OWN:
                return masked(self.out_of(value))
            return self.out_of(value) if name in QUOTING else value
        if isinstance(value, Mapping) and value.get("entity") == "unknown":
            value = {**value, "value": masked(self.out_of(str(value.get("value") or "")))}
        if isinstance(value, Mapping):
            return {key: self.cleaned(part, str(key)) for key, part in value.items()}
        if isinstance(value, list | tuple):
            return [self.cleaned(part, name) for part in value]
        return value


NOTHING = Told("")


def without(text: str, message: str) -> str:
    """A reply as it is stored: without what it quotes of a message."""
    return Told(message).out_of(text)


def answer(contract: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """A machine-readable answer as it is stored."""
    return None if contract is None else dict(NOTHING.cleaned(contract))


def events(new: Iterable[Event]) -> Iterator[dict[str, Any]]:
    """The framework's events of a turn as they are stored, in the order they came."""
    told = NOTHING
    for event in new:
        if event["event"] == "user":
            text = event.get("text") or ""
            told = Told(text)
            parsed = dict(told.cleaned(event.get("parse_data") or {}))
            if "text" in parsed:
                parsed["text"] = masked(str(parsed["text"]))
            made = {**event, "text": masked(text), "parse_data": parsed}
            metadata = event.get("metadata") or {}
            if isinstance(metadata.get("district"), str):
                made["metadata"] = {**metadata, "district": masked(metadata["district"])}
            yield made
        else:
            yield dict(told.cleaned(event))
