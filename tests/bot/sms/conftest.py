"""A webhook with a stand-in for the assistant, for each test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.bot.sms.webhook import SHARED, Hook, Make, SendAddress, Stub


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Make]:
    """Starts a webhook; the data folder stays the same over several."""
    made: list[Hook] = []

    def start(settings: dict[str, Any] = SHARED, stub: Stub | None = None) -> Hook:
        made.append(Hook(tmp_path / "data", settings, stub))
        return made[-1]

    yield start
    for hook in made:
        if hook.thread.is_alive():
            hook.stop()


@pytest.fixture
def hook(make: Make) -> Hook:
    return make()


@pytest.fixture
def address() -> Iterator[SendAddress]:
    there = SendAddress()
    yield there
    there.stop()
