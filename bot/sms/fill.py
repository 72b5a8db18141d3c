"""Fills the blanks of a template: {text}, {to}, {from}, {ref}."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any
from xml.sax.saxutils import escape

BLANK = re.compile(r"\{(text|to|from|ref)\}")


def filled(template: Any, words: Mapping[str, str]) -> Any:
    """A template with its blanks filled; lists and objects are gone through. Other braces stay."""
    if isinstance(template, str):
        return BLANK.sub(lambda found: words.get(found[1], ""), template)
    if isinstance(template, dict):
        return {name: filled(value, words) for name, value in template.items()}
    if isinstance(template, list):
        return [filled(value, words) for value in template]
    return template


def filled_body(template: str, words: Mapping[str, str], content_type: str) -> str:
    """A body with its blanks filled, escaped where the body is XML."""
    if "xml" in content_type:
        words = {name: escape(value, {'"': "&quot;"}) for name, value in words.items()}
    return str(filled(template, words))
