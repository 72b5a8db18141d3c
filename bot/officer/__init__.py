"""The officer's pages. They are made on the server and work without JavaScript.

`blueprints()` lists them; each module is one part of the officer's work.
"""

from __future__ import annotations

from importlib import import_module

from sanic import Blueprint

MODULES = ("home", "review", "changes", "rules", "examples")
"""Modules of this package with a blueprint `pages`."""


def blueprints() -> list[Blueprint]:
    """The pages' routes."""
    return [import_module(f"bot.officer.{name}").pages for name in MODULES]
