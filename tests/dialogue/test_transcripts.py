"""Every demo conversation goes as it says, through the real pipeline."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bot import paths
from bot.play import play, read

FILES = sorted(paths.TRANSCRIPTS.glob("*.yml"))


def test_there_are_enough() -> None:
    assert len(FILES) >= 25


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_goes_as_told(path: Path, assistant: Any, contract: Any) -> None:
    def ask(*args: Any, **metadata: Any) -> list[dict[str, Any]]:
        messages = assistant.say(*args, **metadata)
        for message in messages:
            if "custom" in message:
                contract.validate(message["custom"])
        return list(messages)

    wrong = [
        f"{said!r}: {fault}\n    {text}"
        for said, text, faults in play(read(path), ask, f"demo-{path.stem}")
        for fault in faults
    ]
    assert not wrong, "\n".join(wrong)
