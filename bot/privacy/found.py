"""A part of a message that tells who somebody is or how to reach them."""

from __future__ import annotations

from dataclasses import dataclass

KINDS = ("email", "phone", "postcode", "house number", "name")
"""What is looked for. Of two that overlap, the kind that stands first here counts."""


@dataclass(frozen=True, slots=True)
class Found:
    """Characters `start` to `end` (not included) of a message, and what they are."""

    start: int
    end: int
    kind: str

    def meets(self, other: Found) -> bool:
        """Whether the two share a character."""
        return self.start < other.end and other.start < self.end
