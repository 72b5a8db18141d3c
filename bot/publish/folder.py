"""Puts what is published in a folder, file by file, and touches nothing there that is not ours."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from bot.processes import Failed
from bot.publish.files import MANIFEST, manifest, sums
from rules.model import Book

PART = ".lidwise-part-"
"""What a file is called until it is whole."""


@dataclass(frozen=True, slots=True)
class Written:
    """What was done: how many files are other than before, the same, and gone."""

    changed: int
    same: int
    gone: int


def write(
    out: Path, made: Mapping[str, bytes], book: Book, day: date, districts: list[str]
) -> Written:
    """Make a folder hold these files and their manifest.

    Each file is replaced whole, so that a reader gets the old one or the new; the manifest says
    `complete` when all are there. Raises `Failed` for a folder that holds anything not published
    by this program, or a file of it changed since.
    """
    before = ours(out)
    kept = set(before.get("districts", ())) - set(districts)
    if kept:
        raise Failed(
            f"{out} also holds {', '.join(sorted(kept))}. Publish all districts, or choose "
            "another folder."
        )
    old = set(before.get("files", ()))
    listed = sums(made)
    try:
        out.mkdir(parents=True, exist_ok=True)
        final = manifest(book, day, districts, listed)
        changed = [n for n in made if not alike(out / n, made[n])]
        if not alike(out / MANIFEST, final):
            union = {**before.get("files", {}), **listed}
            put(out / MANIFEST, manifest(book, day, districts, union, complete=False))
        for name in changed:
            put(out / name, made[name])
        for name in sorted(old - set(made)):
            (out / name).unlink(missing_ok=True)
        if not alike(out / MANIFEST, final):
            put(out / MANIFEST, final)
    except PermissionError as error:
        raise Failed(f"{error.filename} cannot be written. Choose another folder.") from None
    except (FileExistsError, NotADirectoryError):
        raise Failed(f"{out} is not a folder. Choose another name.") from None
    except OSError as error:
        raise Failed(f"{out} cannot be written: {error.strerror}.") from None
    return Written(len(changed), len(made) - len(changed), len(old - set(made)))


def ours(out: Path) -> dict[str, Any]:
    """The manifest in a folder, empty for an empty folder or none. Raises `Failed` as `write`."""
    if not out.exists() and not out.is_symlink():
        return {}
    if not out.is_dir():
        raise Failed(f"{out} is not a folder. Choose another name.")
    there = sorted(p for p in out.rglob("*") if p.is_symlink() or not p.is_dir())
    for path in [p for p in there if p.name.startswith(PART) and not p.is_symlink()]:
        path.unlink()
        there.remove(path)
    if not there:
        return {}
    told = told_by(out / MANIFEST)
    if told is None:
        raise Failed(
            f"{out} is not empty and was not made by this program. Choose an empty folder."
        )
    listed = told["files"]
    for path in there:
        name = path.relative_to(out).as_posix()
        if path.is_symlink() or (name != MANIFEST and name not in listed):
            raise Failed(f"{path} was not published by this program. Move it somewhere else.")
        if name != MANIFEST and told["complete"] and digest(path) != listed[name]:
            raise Failed(
                f"{path} was changed since it was published. Move it somewhere else, or delete it."
            )
    return told


def told_by(path: Path) -> dict[str, Any] | None:
    """A manifest of ours, or nothing."""
    try:
        told = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    right = (
        isinstance(told, dict)
        and told.get("made_by") == "lidwise"
        and isinstance(told.get("files"), dict)
        and isinstance(told.get("districts"), list)
        and all(".." not in n.split("/") and not n.startswith("/") for n in told["files"])
    )
    return {**told, "complete": bool(told.get("complete"))} if right else None


def digest(path: Path) -> str:
    """The SHA-256 of a file."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def alike(path: Path, body: bytes) -> bool:
    """Whether a file is there with these very bytes."""
    return path.is_file() and path.read_bytes() == body


def put(path: Path, body: bytes) -> None:
    """Put a whole file in place at once."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=path.parent, prefix=PART, delete=False) as file:
        file.write(body)
    os.chmod(file.name, 0o644)
    os.replace(file.name, path)
