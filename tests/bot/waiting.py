"""Waits until something is so."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any


def until(true: Callable[[], Any], what: str, seconds: float = 30) -> Any:
    """What is found as soon as it is something; fails with `what` past some seconds."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        found = true()
        if found:
            return found
        time.sleep(0.05)
    raise AssertionError(f"not so within {seconds} s: {what}")
