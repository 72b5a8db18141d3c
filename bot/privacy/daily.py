"""The server forgets by itself, once a day."""

from __future__ import annotations

import asyncio
import logging
import time
from pathlib import Path

from bot.privacy.forget import What, forget

logger = logging.getLogger(__name__)

FIRST = 60.0
"""Seconds after the start until it is done first, so that it delays nobody's first question."""
DAY = 86_400.0
"""Seconds between two times."""


async def keep(data: Path, days: int, first: float = FIRST, every: float = DAY) -> None:
    """Forget what is older than some days for as long as the server runs; 0 days: never."""
    if not days:
        return
    loop = asyncio.get_running_loop()
    await asyncio.sleep(first)
    while True:
        try:
            what = What(before=time.time() - days * DAY)
            done = await loop.run_in_executor(None, lambda: forget(data, what, shrink=False))  # noqa: B023
            if any(done.values()):
                logger.info("Forgot what is older than %d days: %s", days, done)
        except Exception:
            logger.exception("What is old could not be forgotten; trying again tomorrow.")
        await asyncio.sleep(every)
