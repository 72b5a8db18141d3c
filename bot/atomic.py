"""Writes a small file all at once, so that nobody ever reads half of it."""

from __future__ import annotations

import json
import os
import tempfile
from pathlib import Path


def write_json(path: Path, data: object) -> None:
    """Write data as JSON in the place of a file."""
    with tempfile.NamedTemporaryFile("w", encoding="utf-8", dir=path.parent, delete=False) as file:
        json.dump(data, file, ensure_ascii=False)
    os.replace(file.name, path)
