"""Changes to rule files that leave every other character as it was: comments, order, layout.

Each edit is made on the text and then read back: the data must differ by what was asked, and by
nothing else, or there is no edit.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Any, NamedTuple

from rules.layout import Piece, column, line_break, line_end, line_start, pieces
from rules.loader import shape_mistakes
from rules.names import name_key
from rules.shapes import nearest
from rules.writing import dumped, written
from rules.yamlfile import Document, Mistake, parse

LONGEST = 80
"""Characters of a name."""


class EditError(ValueError):
    """An edit that cannot be made; the text says why and what to do."""


def add_name(texts: Mapping[str, str], item: str, name: str) -> dict[str, str]:
    """The changed file, by its path, after an item got another name.

    `texts` are the rule files by path. Raises `EditError` if there is no such item, if the name is
    taken, or if the file is written in a way that cannot be edited safely.
    """
    name = plain_name(name)
    owners = {n.item: f for f, text in texts.items() for n in names(f, text)}
    file = owners.get(item)
    if file is None:
        hint = nearest(item, owners) or "Look it up in the list of items."
        raise EditError(f"There is no item '{item}'. {hint}")
    not_taken(texts, name)
    text = texts[file]
    entry = whole(file, text).part("items", item)
    called = entry.part("name") if entry else None
    if entry is None or called is None:
        raise by_hand(file, item)
    also = entry.part("also")
    if also is None:
        new = after_name(text, entry, called, name)
    elif also.kind == "list":
        new = in_list(text, also, name)
    else:
        raise by_hand(file, item)
    data = document(file, text).data
    told = data["items"][item]
    told = {**told, "also": [*told.get("also", ()), name]}
    wanted = {**data, "items": {**data["items"], item: told}}
    same(file, new, wanted, item)
    return {file: new}


def add_item(
    texts: Mapping[str, str], file: str, id: str, entry: Mapping[str, Any]
) -> dict[str, str]:
    """The changed file, by its path, with a new item at the end of its items.

    `entry` is what stands under the id. Raises `EditError` if the id or a name is taken, if the
    entry has not the form of an item, or if the file cannot be edited safely.
    """
    if file not in texts:
        raise EditError(f"There is no file '{file}'. {nearest(file, texts)}".strip())
    for other, text in texts.items():
        if any(n.item == id for n in names(other, text)):
            raise EditError(f"'{id}' is already an item, in {other}. Give it another id.")
    entry = copy.deepcopy(dict(entry))
    keys: set[str] = set()
    for name in (entry.get("name"), *(entry.get("also") or ())):
        name = plain_name(str(name or ""))
        not_taken(texts, name)
        if name_key(name) in keys:
            raise EditError(f"'{name}' is given twice. Name it once.")
        keys.add(name_key(name))
    text = texts[file]
    new = with_item(file, text, id, entry)
    data = document(file, text).data
    wanted = {**data, "items": {**(data.get("items") or {}), id: entry}}
    made, mistakes = parse(file, new)
    if not mistakes:
        known = {m.what for m in shape_mistakes(document(file, text))}
        mistakes = [m for m in shape_mistakes(made) if m.what not in known]
    if mistakes:
        raise EditError("\n".join(str(m) for m in mistakes))
    same(file, new, wanted, id)
    return {file: new}


def plain_name(name: str) -> str:
    """A name fit for the files. Raises `EditError`."""
    name = " ".join(name.split())
    if not name.isprintable() or not name_key(name):
        raise EditError(f"'{name}' is no name. Write it in letters.")
    if len(name) > LONGEST:
        raise EditError(f"A name may have {LONGEST} characters; this one has {len(name)}.")
    return name


def not_taken(texts: Mapping[str, str], name: str) -> None:
    """Raises `EditError` if an item has the name already."""
    key = name_key(name)
    for file, text in texts.items():
        for n in names(file, text):
            if n.key == key:
                as_what = "" if n.name == name else f" ('{n.name}' is the same name)"
                raise EditError(f"'{name}' is already a name of '{n.item}' in {file}{as_what}.")


class Owned(NamedTuple):
    """A name of an item, and what it is compared by."""

    item: str
    name: str
    key: str


@lru_cache(maxsize=400)
def names(file: str, text: str) -> tuple[Owned, ...]:
    """Every name of every item of a file."""

    def found() -> Iterator[Owned]:
        items = data.get("items") if isinstance(data, dict) else None
        for item, entry in items.items() if isinstance(items, dict) else ():
            if isinstance(entry, dict):
                also = entry.get("also")
                for name in (entry.get("name"), *(also if isinstance(also, list) else ())):
                    yield Owned(item, str(name or ""), name_key(str(name or "")))

    data = read(file, text)[0].data
    return tuple(found())


@lru_cache(maxsize=64)
def read(file: str, text: str) -> tuple[Document, list[Mistake]]:
    """A file as data, which nobody may change, and its mistakes."""
    return parse(file, text)


def document(file: str, text: str) -> Document:
    """A file as data. Raises `EditError` if it has a mistake."""
    made, mistakes = read(file, text)
    if mistakes or not isinstance(made.data, dict):
        what = str(mistakes[0]) if mistakes else f"{file} is no rule file."
        raise EditError(f"Put this right first: {what}")
    return made


@lru_cache(maxsize=64)
def whole(file: str, text: str) -> Piece:
    """A file's text in pieces. Raises `EditError`."""
    document(file, text)
    found = pieces(text)
    assert found is not None
    return found


def by_hand(file: str, item: str) -> EditError:
    """What to do with a file whose layout leaves no safe place."""
    return EditError(
        f"'{item}' in {file} is written in a way that cannot be edited safely. Edit the file."
    )


def same(file: str, text: str, wanted: Any, item: str) -> None:
    """Raises `EditError` unless a text reads as the wanted data, in the wanted order."""
    made, mistakes = parse(file, text)
    if mistakes or made.data != wanted or list(made.data) != list(wanted):
        raise by_hand(file, item)


def put(text: str, place: int, more: str) -> str:
    """A text with more in it."""
    return text[:place] + more + text[place:]


def after_name(text: str, entry: Piece, called: Piece, name: str) -> str:
    """A first other name, after the item's own."""
    field = f"also: [{written(name)}]"
    if entry.flow:
        return put(text, called.end, f", {field}")
    indent = text[line_start(text, entry.start) : entry.start]
    indent = indent if not indent.strip() else " " * len(indent)
    return put(text, line_end(text, called.end), f"{line_break(text)}{indent}{field}")


def in_list(text: str, also: Piece, name: str) -> str:
    """One more name at the end of a list."""
    if not also.parts:
        return put(text, also.start + 1, written(name))
    last = also.parts[-1]
    start = line_start(text, last.start)
    before = text[start : last.start]
    if not also.flow:
        dash = before[: before.rfind("-")] if "-" in before else " " * column(text, also.start)
        new = f"{line_break(text)}{dash}- {written(name)}"
        return put(text, line_end(text, last.end), new)
    lines = text[line_start(text, also.start) : line_end(text, also.end)].splitlines()
    rest = text[last.end : line_end(text, last.end)].strip()
    length = len(text[start : line_end(text, last.end)].rstrip()) + len(written(name)) + 2
    full = length > max(len(line.rstrip()) for line in lines)
    starts = [line_start(text, p.start) for p in (also, *also.parts)]
    one_each = len(set(starts)) == len(starts)
    if len(lines) > 1 and (one_each or full) and rest in ("", ",", "]"):
        indent = before[: len(before) - len(before.lstrip())]
        if start <= also.start:
            indent = " " * (column(text, also.start) + 1)
        return put(text, last.end, f",{line_break(text)}{indent}{written(name)}")
    return put(text, last.end, f", {written(name)}")


def with_item(file: str, text: str, id: str, entry: Mapping[str, Any]) -> str:
    """A file's text with an item at the end of its items."""
    top = whole(file, text)
    items = top.part("items")
    if items is not None and (items.kind != "mapping" or items.flow or not items.keys):
        raise by_hand(file, "items")
    ends = line_break(text)
    indent = text[line_start(text, items.start) : items.start] if items else "  "
    lines = [
        indent + line if line else line
        for line in dumped({id: dict(entry)}).rstrip("\n").split("\n")
    ]
    if items is None:
        lines.insert(0, "items:")
    end = items.end if items else top.end
    apart = items is None or spaced(text, items)
    new = ends + ends.join(["", *lines] if apart else lines)
    return put(text, line_end(text, end), new)


def spaced(text: str, items: Piece) -> bool:
    """Whether an empty line stands before the last item."""
    if len(items.keys) < 2:
        return False
    between = text[items.parts[-2].end : items.keys[-1].start]
    return any(not line.strip() for line in between.splitlines()[1:-1])
