"""What to simulate."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Plan:
    """What to simulate; both days are included."""

    seed: int
    people: int
    start: date
    end: date
