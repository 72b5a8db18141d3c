"""How well questions are put together, against lists made by hand.

`python -m bot.review.measure FILE` prints pairwise precision and recall, beside two plainer ways.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

import yaml
from rapidfuzz import fuzz, utils

from bot.review.form import form_of
from bot.review.group import Groups

Labelled = Mapping[str, list[str]]
Grouping = Callable[[list[str]], list[str]]


@dataclass(frozen=True, slots=True)
class Score:
    """Pairs of phrases put together rightly, wrongly, and those that should have been."""

    right: int
    wrong: int
    missed: int

    @property
    def precision(self) -> float:
        """Part of the pairs put together that belong together."""
        return self.right / (self.right + self.wrong) if self.right + self.wrong else 1.0

    @property
    def recall(self) -> float:
        """Part of the pairs that belong together that were put together."""
        return self.right / (self.right + self.missed) if self.right + self.missed else 1.0


def score(labelled: Labelled, grouping: Grouping) -> tuple[Score, list[str]]:
    """The score of a way of grouping, and the pairs it has wrong, for a person to read."""
    phrases = [(label, p) for label, ps in labelled.items() for p in ps]
    keys = grouping([p for _, p in phrases])
    right = wrong = missed = 0
    told = []
    for (one, k1), (two, k2) in combinations(zip(phrases, keys, strict=True), 2):
        if one[0] == two[0] and k1 == k2:
            right += 1
        elif k1 == k2:
            wrong += 1
            told.append(f"put together: {one[1]} | {two[1]}")
        elif one[0] == two[0]:
            missed += 1
            told.append(f"kept apart: {one[1]} | {two[1]}")
    return Score(right, wrong, missed), told


def ours(phrases: list[str]) -> list[str]:
    """The keys that the review list gives phrases."""
    groups = Groups()
    return [groups.key(form_of(p)) for p in phrases]


def as_typed(phrases: list[str]) -> list[str]:
    """Phrases alike but for large and small letters."""
    return [p.lower().strip() for p in phrases]


def token_set(phrases: list[str]) -> list[str]:
    """Phrases whose words are 90 of 100 alike (`rapidfuzz`'s token set ratio) with the first."""
    firsts: list[str] = []
    out = []
    for p in phrases:
        near = [
            f for f in firsts if fuzz.token_set_ratio(p, f, processor=utils.default_process) >= 90
        ]
        if not near:
            firsts.append(p)
        out.append(near[0] if near else p)
    return out


WAYS: Mapping[str, Grouping] = {
    "review list": ours,
    "as typed": as_typed,
    "token set ratio 90": token_set,
}


def main(path: Path, wrong: bool) -> None:
    """Print the scores of each part of a file."""
    for part, labelled in yaml.safe_load(path.read_text(encoding="utf-8")).items():
        phrases = sum(map(len, labelled.values()))
        print(f"{part}: {phrases} phrases, {len(labelled)} things")
        for name, way in WAYS.items():
            found, told = score(labelled, way)
            print(f"  {name:20} precision {found.precision:.3f}  recall {found.recall:.3f}")
            if wrong and name == "review list":
                print("\n".join(f"    {t}" for t in told))


if __name__ == "__main__":
    main(Path(sys.argv[1]), "--wrong" in sys.argv)
