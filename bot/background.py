"""What both servers do beside answering: follow the rule book, and end when the parent ends."""

from __future__ import annotations

import asyncio
import logging
import os
import signal
import sys
import threading
from collections.abc import Callable

logger = logging.getLogger(__name__)

EVERY = 0.3
"""Seconds between two looks at the rule book."""


async def follow(refresh: Callable[[], object]) -> None:
    """Load a changed rule book in a thread, so that nobody's message waits for it."""
    loop = asyncio.get_running_loop()
    while True:
        await asyncio.sleep(EVERY)
        try:
            await loop.run_in_executor(None, refresh)
        except Exception:
            logger.exception("The rule book could not be followed; trying again.")
            await asyncio.sleep(5)


def stop_with_parent() -> None:
    """End this process when its parent's end of the standard input closes, however that ended."""

    def wait() -> None:
        sys.stdin.buffer.read()
        os.kill(os.getpid(), signal.SIGTERM)

    threading.Thread(target=wait, daemon=True, name="stop with parent").start()
