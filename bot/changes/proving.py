"""Proves the rule files as a change would leave them: `python -m bot.changes.proving`, on JSON.

In a process of its own, because it takes seconds in which a server could answer nobody.
"""

from __future__ import annotations

import contextlib
import json
import logging
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from bot import lean, paths
from bot.changes.places import split
from bot.checking import judge_texts
from bot.processes import Failed
from rules.compare import compare
from rules.finding import Finding
from rules.loader import BookError, load_texts
from rules.model import Book, Place
from rules.statutory import check_statute, load_statute

logger = logging.getLogger(__name__)

LONGEST = 300.0
"""Seconds after which a proof is given up."""


@dataclass(frozen=True, slots=True)
class Proved:
    """What the check found, how much it went through, and what would change.

    `version` is the changed book's, empty if it cannot be loaded. `lines` tell the change in plain
    words; they are empty if there is no book to compare.
    """

    version: str
    mistakes: tuple[Finding, ...]
    combinations: int
    cases: int
    lines: tuple[str, ...]
    comparison: Mapping[str, Any]

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What keeps the change from coming into force."""
        return tuple(m for m in self.mistakes if m.severity == "error")


def prove(old: Mapping[str, str], new: Mapping[str, str]) -> Proved:
    """Check the texts `new` and compare them with `old`, both by the paths of changes."""
    verdict = judge_texts(*split(new), date.today())
    mistakes = list(verdict.mistakes)
    lines: list[str] = []
    comparison: dict[str, Any] = {}
    if verdict.book is not None and verdict.proof is not None and not verdict.proof.errors:
        present = loaded(old)
        mistakes += unlawful(present, verdict.book)
        if present is not None:
            # The files before may be broken in a way that only the proof tells.
            with contextlib.suppress(LookupError):
                found = compare(present, verdict.book)
                lines, comparison = found.lines(), found.to_json()
    return Proved(
        version=verdict.book.version if verdict.book else "",
        mistakes=tuple(mistakes),
        combinations=verdict.proof.combinations if verdict.proof else 0,
        cases=verdict.cases,
        lines=tuple(lines),
        comparison=comparison,
    )


def loaded(texts: Mapping[str, str]) -> Book | None:
    """The book of some texts, if it is one."""
    try:
        return load_texts(split(texts)[0])
    except BookError:
        return None


def unlawful(old: Book | None, new: Book) -> list[Finding]:
    """Duties of the law that the change leaves unmet, and that were met before."""
    statute = load_statute()
    before = (
        {(f.district, f.day, f.duty, f.item) for f in check_statute(old, statute)} if old else set()
    )
    return [
        Finding(
            f.where, f"{f.district} on {f.day}: duty '{f.duty}', '{f.item}': {f.instead}", f.cure
        )
        for f in check_statute(new, statute)
        if (f.district, f.day, f.duty, f.item) not in before
    ]


def to_json(proved: Proved) -> dict[str, Any]:
    """As plain data."""
    return asdict(proved)


def from_json(data: Mapping[str, Any]) -> Proved:
    """From plain data."""
    found = tuple(
        Finding(Place(**m["place"]), m["what"], m["cure"], m["severity"]) for m in data["mistakes"]
    )
    return Proved(**{**data, "mistakes": found, "lines": tuple(data["lines"])})


def prove_apart(old: Mapping[str, str], new: Mapping[str, str]) -> Proved:
    """The same in a process of its own. Raises `Failed` if that ends badly."""
    try:
        done = subprocess.run(
            [sys.executable, "-m", "bot.changes.proving"],
            input=json.dumps({"old": dict(old), "new": dict(new)}).encode(),
            capture_output=True,
            timeout=LONGEST,
            cwd=paths.PROJECT,
            env={**lean.SETTINGS, **os.environ},
            check=True,
        )
        return from_json(json.loads(done.stdout))
    except subprocess.TimeoutExpired:
        raise Failed("The check took too long and was given up. Try again.") from None
    except (OSError, subprocess.CalledProcessError, ValueError) as error:
        said = (getattr(error, "stderr", None) or b"").decode("utf-8", "replace")
        logger.error("The proof of a change failed: %s %s", error, said[-2_000:])
        raise Failed(
            "The check could not be run. Try again; if it fails again, see the log."
        ) from None


def main() -> None:
    """Read both books' texts and write what was found."""
    given = json.load(sys.stdin)
    json.dump(to_json(prove(given["old"], given["new"])), sys.stdout)


if __name__ == "__main__":
    main()
