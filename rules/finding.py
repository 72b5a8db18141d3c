"""What a proof finds wrong, and how it gathers it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rules.model import Place

Severity = Literal["error", "warning"]


@dataclass(frozen=True, slots=True)
class Finding:
    """Something wrong in the rules: where, what, and how to put it right."""

    place: Place
    what: str
    cure: str
    severity: Severity = "error"

    def __str__(self) -> str:
        doubt = " (warning)" if self.severity == "warning" else ""
        return f"{self.place}{doubt}: {self.what}. {self.cure}"


class Findings:
    """Findings without repeats: one that holds in many cases is told once, with its first case."""

    def __init__(self) -> None:
        self.cases: dict[Finding, list[str]] = {}

    def add(
        self, place: Place, what: str, cure: str, case: str = "", severity: Severity = "error"
    ) -> None:
        """Note a finding, in one case (a district on a day, say)."""
        self.cases.setdefault(Finding(place, what, cure, severity), []).append(case)

    def listed(self) -> tuple[Finding, ...]:
        """All findings in file and line order."""
        told = []
        for finding, cases in self.cases.items():
            named = list(dict.fromkeys(c for c in cases if c))
            more = f" and {len(named) - 1} more" if len(named) > 1 else ""
            what = f"{finding.what} ({named[0]}{more})" if named else finding.what
            told.append(Finding(finding.place, what, finding.cure, finding.severity))
        return tuple(sorted(told, key=lambda f: (f.place.file, f.place.line, f.what)))
