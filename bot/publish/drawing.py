"""Drawings of the containers, as the chat has them (`bot/web/swatch.js`); a test compares the two.

A drawing supports the name beside it and never stands for it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from bot import paths

COLOURS = "dark grey|grey|yellow|teal|lime|brown|orange|silver|maroon|navy|white|green"
INK = "#2b2534"
BOX = "3 2 42 45"

Part = tuple[str, str]
"""A path and what it is: the body, the lid, or the name of a style of its own."""

BIN: tuple[Part, ...] = (
    ("M12 17h24l-2 22a2 2 0 0 1-2 2H16a2 2 0 0 1-2-2z", "body"),
    ("M9 12.500A3.500 3.500 0 0 1 12.500 9h23A3.500 3.500 0 0 1 39 12.500V17H9z", "lid"),
)
PARTS: dict[str, tuple[Part, ...]] = {
    "bin": BIN,
    "caddy": (
        ("M14 20C14 4 34 4 34 20", "handle"),
        ("M14 24h20l-1.500 15a2 2 0 0 1-2 2h-13a2 2 0 0 1-2-2z", "body"),
        ("M11 21a2 2 0 0 1 2-2h22a2 2 0 0 1 2 2v4H11z", "lid"),
    ),
    "sack": (
        (
            "M17 7c4 3 10 3 14 0l-3 8c8 6 10 15 9 24a3 3 0 0 1-3 3H14a3 3 0 0 1-3-3"
            "c-1-9 1-18 9-24z",
            "body",
        ),
        ("M19 15h10", "handle"),
    ),
    "box": (
        ("M9 21h30l-3 18a2 2 0 0 1-2 2H14a2 2 0 0 1-2-2z", "body"),
        ("M6 18a2 2 0 0 1 2-2h32a2 2 0 0 1 2 2v3H6z", "body"),
    ),
    "bag-on": (("M20 4c3 2 5 2 8 0l-2 4c5 2 7 7 6 11H16c-1-4 1-9 6-11z", "bag"),),
    "bag-beside": (("M35 21c2 1.500 4 1.500 6 0l-1 4c5 3 7 9 5 16H31c-2-7 0-13 5-16z", "bag"),),
}
BEHIND = {
    "bag-on": "translate(4.500 13) scale(.8)",
    "bag-beside": "translate(-6 4) scale(.86)",
}
"""Where the bin stands that a bag is put on or beside."""


@dataclass(frozen=True, slots=True)
class Look:
    """What a container's name says about its look."""

    shape: str
    body: str
    lid: str


def look(name: str) -> Look:
    """The look of a container by its name, such as "grey bin with a yellow lid"."""
    text = name.lower()
    bag = re.search(r"\bbag (?:on|beside)\b", text)
    found = [(m[1], bool(m[2])) for m in re.finditer(rf"\b({COLOURS})\b( lid)?", text)]
    lid = next((c for c, is_lid in found if is_lid), None)
    body = next((c for c, is_lid in found if not is_lid), "plain")
    shape = "bin"
    if bag:
        shape = "bag-on" if bag[0].endswith("on") else "bag-beside"
    elif re.search(r"\bcaddy\b", text):
        shape = "caddy"
    elif re.search(r"\bsack\b|\bbag\b", text):
        shape = "sack"
    elif re.search(r"\bbox\b", text):
        shape = "box"
    return Look(shape, body.replace(" ", "-"), (lid or body).replace(" ", "-"))


def inner(name: str) -> str:
    """The inside of a drawing, styled by the classes of `swatch.css`."""
    seen = look(name)
    colours = {"body": seen.body, "lid": seen.lid}
    drawn = [path(d, what, colours) for d, what in PARTS[seen.shape]]
    if seen.shape == "bin":
        return wheels() + "".join(drawn)
    if seen.shape in BEHIND:
        behind = wheels() + "".join(path(d, what, colours) for d, what in BIN)
        return f'<g transform="{BEHIND[seen.shape]}">{behind}</g>' + "".join(drawn)
    return "".join(drawn)


def path(d: str, what: str, colours: dict[str, str]) -> str:
    """One piece."""
    kind = f"part c-{colours[what]}" if what in colours else what
    return f'<path d="{d}" class="{kind}"/>'


def wheels() -> str:
    """A bin's wheels."""
    return "".join(f'<circle cx="{x}" cy="42" r="3" class="wheel"/>' for x in (17, 31))


def style() -> str:
    """The style sheet of the drawings."""
    return (paths.WEB / "swatch.css").read_text(encoding="utf-8")


@cache
def rules() -> dict[str, str]:
    """The attributes each class of the style sheet stands for."""
    out = {}
    for name, block in re.findall(r"\.([\w-]+) \{([^}]*)\}", style()):
        pairs = [p.split(":", 1) for p in block.split(";") if ":" in p]
        out[name] = " ".join(f'{k.strip()}="{v.strip()}"' for k, v in pairs)
    return out


def picture(name: str) -> str:
    """A whole drawing that needs no style sheet."""

    def styled(match: re.Match[str]) -> str:
        return " ".join(rules()[c] for c in match[1].split())

    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{BOX}">'
        + re.sub(r'class="([\w -]+)"', styled, inner(name))
        + "</svg>"
    )
