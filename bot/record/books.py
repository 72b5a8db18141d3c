"""The rule books that were in force, kept by version, so that old answers can be explained."""

from __future__ import annotations

import gzip
import json
import os
import re
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timezone
from pathlib import Path

from bot.processes import Failed
from rules.loader import load_texts
from rules.model import Book

FOLDER = "books"
NAME = re.compile(r"[0-9a-f]{6,64}")


@dataclass(frozen=True, slots=True)
class Kept:
    """A kept book: its version and when it was first in force (UTC)."""

    version: str
    since: datetime


def path_of(data: Path, version: str) -> Path:
    """Where a version is kept. Raises `Failed` for what cannot be one."""
    if not NAME.fullmatch(version):
        raise Failed(
            f"'{version}' is no version of a rule book. It has figures and letters a to f."
        )
    return data / FOLDER / f"{version}.json.gz"


def keep(data: Path, texts: Mapping[str, str], version: str) -> None:
    """Keep a book's files. A version that is there already stays as it is."""
    path = path_of(data, version)
    if path.exists():
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    told = {"since": datetime.now(timezone.utc).isoformat(timespec="seconds"), "texts": dict(texts)}
    packed = gzip.compress(json.dumps(told, ensure_ascii=False).encode(), 6)
    with tempfile.NamedTemporaryFile("wb", dir=path.parent, delete=False) as file:
        file.write(packed)
    os.replace(file.name, path)


def read(data: Path, version: str) -> tuple[datetime, dict[str, str]]:
    """When a version was first in force, and its files. Raises `Failed` if it is not kept."""
    path = path_of(data, version)
    try:
        told = json.loads(gzip.decompress(path.read_bytes()))
        return datetime.fromisoformat(told["since"]), dict(told["texts"])
    except FileNotFoundError:
        raise Failed(f"The rule book {version} is not kept in {path.parent}.") from None
    except (OSError, ValueError, KeyError, EOFError) as error:
        raise Failed(f"{path} cannot be read: {error}.") from None


def texts_of(data: Path, version: str) -> dict[str, str]:
    """The rule files of a version, by path. Raises `Failed` if it is not kept."""
    return read(data, version)[1]


def book_of(data: Path, version: str) -> Book:
    """The book of a version. Raises `Failed` if it is not kept, `BookError` if it is none."""
    return load_texts(texts_of(data, version))


def versions(data: Path) -> list[Kept]:
    """The kept versions, the newest first. One that cannot be read is left out."""
    found = []
    for path in (data / FOLDER).glob("*.json.gz"):
        version = path.name.removesuffix(".json.gz")
        try:
            found.append(Kept(version, read(data, version)[0]))
        except Failed:
            continue
    return sorted(found, key=lambda kept: (kept.since, kept.version), reverse=True)
