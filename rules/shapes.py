"""A file's wrong shape, said so that the person who wrote it can put it right."""

from __future__ import annotations

from typing import Any

from jsonschema.exceptions import ValidationError
from rapidfuzz import process

from rules.yamlfile import Document, Mistake


def nearest(word: str, known: Any) -> str:
    """A hint with the known word nearest to a wrong one, or nothing."""
    found = process.extractOne(str(word), [str(k) for k in known], score_cutoff=60)
    return f"Did you mean '{found[0]}'?" if found else ""


def spot(path: tuple[str | int, ...]) -> str:
    """A path in words: 'items, pizza_box, outcomes, 2nd entry'."""
    return ", ".join(f"entry {p + 1}" if isinstance(p, int) else str(p) for p in path) or "the file"


def explain(document: Document, error: ValidationError) -> list[Mistake]:
    """One schema error as mistakes with line and cure."""
    path = tuple(error.absolute_path)
    where = spot(path)

    def mistake(what: str, cure: str, at: tuple[str | int, ...] = path) -> Mistake:
        return Mistake(document.file, document.line(at), what, cure)

    kind = error.validator
    schema: Any = error.schema
    given: Any = error.instance
    wanted: Any = error.validator_value
    if kind == "additionalProperties":
        known = schema.get("properties", {})
        extra = [k for k in given if k not in known]
        return [
            mistake(
                f"'{k}' is not known in {where}",
                nearest(k, known) or f"Use one of: {', '.join(sorted(known))}",
                (*path, k),
            )
            for k in extra
        ]
    if kind == "required":
        missing = [k for k in wanted if k not in given]
        if not isinstance(given, dict) or error.message.split("'")[1] not in missing:
            return []
        name = error.message.split("'")[1]
        return [mistake(f"{where} has no '{name}'", f"Add '{name}:'")]
    if kind == "type":
        names = {
            "string": "a text",
            "object": "a block of 'name: value' lines",
            "array": "a list",
            "integer": "a whole number",
            "boolean": "true or false",
        }
        words = " or ".join(
            names.get(w, str(w)) for w in (wanted if isinstance(wanted, list) else [wanted])
        )
        got = "nothing" if error.instance is None else f"'{error.instance}'"
        return [mistake(f"{where} is {got[:60]}", f"It must be {words}; put figures in quotes")]
    if kind == "oneOf":
        choices = [tuple(c.get("required", ())) for c in wanted]
        if all(choices):
            keys = [f"'{c[0]}'" for c in choices]
            both = [c[0] for c in choices if c[0] in given]
            either = " or ".join(keys)
            state = f"has both {' and '.join(keys)}" if len(both) > 1 else f"has no {either}"
            return [mistake(f"{where} {state}", f"Give one of {either}")]
        return [mistake(f"{where} has the wrong form", "See the description in the schema")]
    if kind == "pattern":
        if "\\d" in str(wanted):
            return [
                mistake(
                    f"{where} is '{error.instance}'", "Write a date as year-month-day, 2027-03-31"
                )
            ]
        cure = "Use small letters, figures and underscores, a letter first"
        return [mistake(f"'{error.instance}' is not an id ({where})", cure)]
    if kind == "enum":
        options = ", ".join(map(str, wanted))
        return [mistake(f"{where} is '{error.instance}'", f"Use one of: {options}")]
    if kind in ("minLength", "minItems"):
        return [mistake(f"{where} is empty or too short", "Fill it in")]
    return [mistake(f"{where}: {error.message}", "See the description in the schema")]
