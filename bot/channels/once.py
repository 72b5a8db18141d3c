"""A message that is sent again, because the network lost its reply, gets that reply again."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Awaitable, Callable
from typing import Generic, TypeVar

T = TypeVar("T")

KEEP = 900.0
"""Seconds for which a reply is kept."""
MOST = 2_000
"""Replies that are kept; a reply has some kilobytes, and the oldest go first."""


class Once(Generic[T]):
    """Does a thing once per key, and gives its result to all who ask for it with that key.

    A result of `None` is not kept, and what raises is not either: asked again, it is done again.
    """

    def __init__(
        self, keep: float = KEEP, most: int = MOST, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self.keep, self.most, self.clock = keep, most, clock
        self.done: dict[object, tuple[float, asyncio.Future[T | None]]] = {}

    async def get(self, key: object, do: Callable[[], Awaitable[T | None]]) -> T | None:
        """The result for a key. It is done to its end even if the one who asked has gone."""
        self.forget()
        known = self.done.get(key)
        if known is None:
            task = asyncio.ensure_future(do())
            self.done[key] = known = (self.clock() + self.keep, task)
            task.add_done_callback(lambda ended: self.drop(key, ended))
        return await asyncio.shield(known[1])

    def drop(self, key: object, ended: asyncio.Future[T | None]) -> None:
        """Forget what gave nothing."""
        failed = ended.cancelled() or ended.exception() is not None or ended.result() is None
        if failed and self.done.get(key, (0, None))[1] is ended:
            del self.done[key]

    def forget(self) -> None:
        """Let go of the old, and of the oldest if there are too many."""
        now = self.clock()
        for key, (until, _) in list(self.done.items()):
            if until > now and len(self.done) < self.most:
                break
            del self.done[key]
