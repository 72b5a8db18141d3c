"""How often something may be done: so many times in a span, per name and by all together."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable

NAMES = 5_000
"""Names that are remembered at most; the oldest go first."""


class Pace:
    """Allows `each` times per name and `total` times by all within `span` seconds."""

    def __init__(
        self, each: int, total: int, span: float, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.each, self.total, self.span, self.clock = each, total, span, clock
        self.names: dict[str, deque[float]] = {}
        self.all: deque[float] = deque()

    def wait(self, name: str) -> float:
        """Seconds until it may be done; 0.0 counts as done now."""
        now = self.clock()
        own = self.names.pop(name, deque())
        self.names[name] = own
        while len(self.names) > NAMES:
            self.names.pop(next(iter(self.names)))
        for times, most in ((own, self.each), (self.all, self.total)):
            while times and times[0] <= now - self.span:
                times.popleft()
            if len(times) >= most:
                return times[0] + self.span - now
        own.append(now)
        self.all.append(now)
        return 0.0
