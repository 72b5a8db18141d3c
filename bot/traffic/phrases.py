"""What simulated residents say, read once from the files in `phrases/`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import yaml

FOLDER = Path(__file__).parent / "phrases"
ARTICLE = re.compile(r"^(?:an?|some) ", re.IGNORECASE)


@cache
def read(name: str) -> dict[str, Any]:
    """One of the files, by its name without ending."""
    data: dict[str, Any] = yaml.safe_load((FOLDER / f"{name}.yml").read_text(encoding="utf-8"))
    return data


@dataclass(frozen=True, slots=True)
class Want:
    """A thing people ask about. `item` is the rule's id, `None` where no rule knows it.

    `wrong` is the stream whose container many would take, `belief` that they are sure of it and
    name it, `facts` what may be the case (a value that stands twice is twice as likely), `states`
    what some say unasked and what it means, `careful` where a thing no rule knows goes, `follow`
    what is asked on about it.
    """

    item: str | None
    name: str
    weight: float
    say: tuple[str, ...]
    season: str | None = None
    wrong: str | None = None
    belief: bool = False
    facts: tuple[tuple[str, tuple[str, ...]], ...] = ()
    states: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = ()
    careful: str = "residual"
    follow: tuple[str, ...] = ()


@cache
def known() -> tuple[Want, ...]:
    """The things the rules know."""
    return tuple(
        Want(
            item=w["item"],
            name=w["item"],
            weight=float(w["weight"]),
            say=tuple(w["say"]),
            season=w.get("season"),
            wrong=w.get("wrong"),
            belief=bool(w.get("belief")),
            facts=tuple((c, tuple(values)) for c, values in w.get("facts", {}).items()),
            states=tuple((s["say"], tuple(s["facts"].items())) for s in w.get("states", ())),
            follow=tuple(w.get("follow", ())),
        )
        for w in read("known")["wants"]
    )


@cache
def unknown() -> tuple[Want, ...]:
    """The things no rule names."""
    return tuple(
        Want(
            item=None,
            name=w["name"],
            weight=float(w["weight"]),
            say=tuple(w["say"]),
            careful=str(w.get("goes", "residual")),
        )
        for w in read("unknown")["unknown"]
    )


def bare(thing: str) -> str:
    """A thing's words without the article."""
    return ARTICLE.sub("", thing)
