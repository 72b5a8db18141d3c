"""What all the officer's pages share: frame, navigation, form token, and a message shown once."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import jinja2
from sanic import response
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF

PARTS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    (
        "Learn",
        (
            ("review", "Questions to look at"),
            ("asked", "What people ask"),
            ("conversations", "Conversations"),
        ),
    ),
    ("Edit", (("rules", "Rule files"), ("changes", "Changes"), ("examples", "Examples"))),
    ("Check", (("compare", "Compare"), ("preview", "Try a day"))),
    ("Publish", (("publish", "Publish"),)),
)
"""The navigation: each part of the work with its pages, by the last part of their address."""

TEMPLATES = jinja2.Environment(
    loader=jinja2.FileSystemLoader(Path(__file__).with_name("templates")),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def long_day(day: date | str) -> str:
    """A day in words: 1 February 2027."""
    day = date.fromisoformat(day[:10]) if isinstance(day, str) else day
    return f"{day.day} {day:%B %Y}"


TEMPLATES.filters["long_day"] = long_day

SAID: dict[str, str] = {}
"""Messages to be shown once, by session."""


def shown(
    request: Request, template: str, *, here: str, title: str, status: int = 200, **context: Any
) -> HTTPResponse:
    """A page for who is signed in. `here` is the page's name in the navigation.

    A template extends `base.html`. It is given `token` for its forms, `book` in force, `who` is
    signed in, `today` and `said`, and all of `context`.
    """
    who = request.ctx.who
    page = TEMPLATES.get_template(template).render(
        here=here,
        title=title,
        parts=PARTS,
        who=who,
        token=who.session.token,
        book=SHELF.current(),
        today=date.today(),
        said=SAID.pop(who.session.id, ""),
        **context,
    )
    return response.html(page, status=status)


def back(request: Request, address: str, said: str = "") -> HTTPResponse:
    """Send the browser to a page after a form, with a message that is shown there once."""
    if said:
        SAID[request.ctx.who.session.id] = said
    return response.redirect(address, status=303)
