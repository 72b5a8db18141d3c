"""Writes a small file all at once, so that nobody ever reads half of it."""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path


def write_json(path: Path, data: object) -> None:
    """Write data as JSON in the place of a file. If that fails, nothing is left of it."""
    with tempfile.NamedTemporaryFile("w", encoding="utf-8", dir=path.parent, delete=False) as file:
        try:
            json.dump(data, file, ensure_ascii=False)
            file.flush()
            os.fsync(file.fileno())
        except BaseException:
            os.unlink(file.name)
            raise
    os.replace(file.name, path)
