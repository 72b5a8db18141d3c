"""A small folder of rules and its proposed changes, for the tests of both."""

from __future__ import annotations

from pathlib import Path

from bot.changes.store import Changes

RULES = {
    "book/a.yml": "about: A # keep\nitems:\n  kettle:\n    name: kettle\n    also: [jug kettle]\n",
    "book/items/b.yml": (
        "about: B\nitems:\n  toaster:\n    name: toaster\n\n  iron:\n    name: iron\n"
    ),
    "examples/film.yml": "cases: []\n",
}


def small(folder: Path) -> Changes:
    """The changes to three small files, which are no whole rule book."""
    for name, text in RULES.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return Changes(folder / "data", folder / "book")


def on_disk(folder: Path) -> dict[str, str]:
    """What is there now."""
    return {
        p.relative_to(folder).as_posix(): p.read_bytes().decode()
        for part in ("book", "examples")
        for p in sorted((folder / part).rglob("*"))
        if p.is_file()
    }
