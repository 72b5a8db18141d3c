"""The files of the examples: single cases, and whole conversations."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from rules.finding import Finding
from rules.model import Place

FOLDER = "examples"
CONVERSATIONS = f"{FOLDER}/conversations/"


def folder_of(rules: Path) -> Path:
    """The folder of the examples that belong to a folder of rule files."""
    return rules.resolve().parent / FOLDER


def read(rules: Path) -> tuple[dict[str, str], list[Finding]]:
    """The text of each file by its path (`examples/film.yml`), and those that cannot be read."""
    folder = folder_of(rules)
    texts: dict[str, str] = {}
    found = []
    for path in sorted(p for p in folder.rglob("*.yml") if not p.name.startswith(".")):
        name = f"{FOLDER}/{path.relative_to(folder).as_posix()}"
        try:
            texts[name] = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            found.append(Finding(Place(name, 1), "not saved as UTF-8", "Save it again as UTF-8"))
        except OSError as error:
            what = f"cannot be read: {error.strerror}"
            found.append(Finding(Place(name, 1), what, "Check its rights"))
    return texts, found


def cases(texts: Mapping[str, str]) -> dict[str, str]:
    """The files with single cases."""
    return {n: t for n, t in texts.items() if not n.startswith(CONVERSATIONS)}


def conversations(texts: Mapping[str, str]) -> dict[str, str]:
    """The files with a conversation each."""
    return {n: t for n, t in texts.items() if n.startswith(CONVERSATIONS)}
