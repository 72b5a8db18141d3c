"""How sure a share is, and whether two shares differ by more than chance explains."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

SURE = 0.95
WIDE = 0.2
"""An interval of a difference wider than this, 20 points, tells nothing: too few messages."""


@dataclass(frozen=True, slots=True)
class Share:
    """A part of a whole, with the Wilson score interval of the share (E. B. Wilson, 1927)."""

    part: int
    whole: int
    low: float = 0.0
    high: float = 1.0

    @property
    def value(self) -> float | None:
        """The share from 0 to 1; `None` of nothing."""
        return self.part / self.whole if self.whole else None


def share(part: int, whole: int) -> Share:
    """A share with its interval; of nothing, anything from 0 to 1 is possible."""
    if not whole:
        return Share(part, whole)
    from scipy.stats import binomtest

    found = binomtest(part, whole).proportion_ci(SURE, method="wilson")
    return Share(part, whole, max(0.0, float(found.low)), min(1.0, float(found.high)))


@dataclass(frozen=True, slots=True)
class Difference:
    """How much a share rose (below 0: fell), with its interval, and what that means in words."""

    value: float
    low: float
    high: float

    @property
    def verdict(self) -> str:
        """rose, fell, same (no clear change) or few (too few to tell)."""
        if self.low > 0:
            return "rose"
        if self.high < 0:
            return "fell"
        return "few" if self.high - self.low > WIDE else "same"


def difference(before: Share, after: Share) -> Difference | None:
    """From one share to a later one, by Newcombe's hybrid score interval (R. G. Newcombe, 1998,
    method 10), which is made of the two Wilson intervals. `None` if one side is empty."""
    first, second = before.value, after.value
    if first is None or second is None:
        return None
    change = second - first
    down = sqrt((second - after.low) ** 2 + (before.high - first) ** 2)
    up = sqrt((after.high - second) ** 2 + (first - before.low) ** 2)
    return Difference(change, change - down, change + up)


def statement(found: Difference | None) -> str:
    """What a difference means, in one plain sentence."""
    if found is None:
        return "One side has none, so there is nothing to compare."
    between = f"{points(found.low)} to {points(found.high)} points"
    if found.verdict in ("rose", "fell"):
        return f"{found.verdict.capitalize()} by {size(found.value)} (likely {between})."
    if found.verdict == "few":
        return f"Too few to tell (anything from {between} is possible)."
    if max(-found.low, found.high) < 0.01:
        return "No clear change (less than a point either way)."
    return f"No clear change (anything from {between} is possible)."


def size(value: float) -> str:
    """How large a difference is."""
    whole = round(abs(value) * 100)
    return "less than a point" if whole == 0 else f"{whole} point{'' if whole == 1 else 's'}"


def points(value: float) -> str:
    """Percentage points with their sign."""
    rounded = round(value * 100)
    return "0" if rounded == 0 else f"{'+' if rounded > 0 else '−'}{abs(rounded)}"
