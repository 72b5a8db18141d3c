"""Holds off whoever tries too often: for a growing time after wrong passwords, or a number a time.

It is kept in memory: a restart forgives. The numbers are common practice, no source.
"""

from __future__ import annotations

import math
import time
from collections import OrderedDict, deque
from collections.abc import Callable

MOST = 10_000
"""Names that are remembered; the one longest unused goes first."""


class Growing:
    """After `free` failures each next one doubles the wait, from one second to `longest`."""

    def __init__(
        self,
        free: int,
        longest: float = 900,
        forget: float = 3600,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self.free, self.longest, self.forget, self.now = free, longest, forget, now
        self.failed: OrderedDict[str, tuple[int, float]] = OrderedDict()

    def wait(self, key: str) -> int:
        """Whole seconds until a next try is let through; 0 if now."""
        count, last = self.failed.get(key, (0, 0.0))
        if count <= self.free:
            return 0
        hold = min(2.0 ** min(count - self.free - 1, 20), self.longest)
        return max(0, math.ceil(last + hold - self.now()))

    def fail(self, key: str) -> None:
        """Count a failure."""
        count, last = self.failed.pop(key, (0, self.now()))
        if self.now() - last > self.forget:
            count = 0
        self.failed[key] = count + 1, self.now()
        while len(self.failed) > MOST:
            self.failed.popitem(last=False)

    def undo(self, key: str) -> None:
        """Take one failure back."""
        if key in self.failed:
            count, last = self.failed[key]
            self.failed[key] = max(0, count - 1), last

    def forgive(self, key: str) -> None:
        """Forget the failures of somebody who got in."""
        self.failed.pop(key, None)


class Budget:
    """At most `number` in any `seconds`."""

    def __init__(
        self, number: int, seconds: float, now: Callable[[], float] = time.monotonic
    ) -> None:
        self.number, self.seconds, self.now = number, seconds, now
        self.spent: OrderedDict[str, deque[float]] = OrderedDict()

    def wait(self, key: str) -> int:
        """Spend one and return 0, or return the whole seconds until there is one again."""
        times = self.spent.pop(key, deque())
        self.spent[key] = times
        while len(self.spent) > MOST:
            self.spent.popitem(last=False)
        while times and times[0] <= self.now() - self.seconds:
            times.popleft()
        if len(times) >= self.number:
            return max(1, math.ceil(times[0] + self.seconds - self.now()))
        times.append(self.now())
        return 0


def spell(seconds: int) -> str:
    """A time to wait in words."""
    if seconds < 90:
        return f"{seconds} second{'' if seconds == 1 else 's'}"
    minutes = math.ceil(seconds / 60)
    return f"{minutes} minutes"
