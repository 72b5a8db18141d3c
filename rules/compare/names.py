"""Items and names that came, went or mean something else in another book."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any

from rules.compare.sections import EntryChange, field_change
from rules.compare.words import capital, ended, listed, quoted
from rules.model import Book, Item
from rules.names import name_key

key_of = lru_cache(maxsize=50_000)(name_key)
"""A name as names are compared; each is asked for several times."""


def pairs_of(old: Book, new: Book) -> list[tuple[str, str]]:
    """Ids of the items that both books have: by id, else by the item's own name, else by most of
    its names, so that another id alone is no difference."""
    found = [(i, i) for i in old.items if i in new.items]
    gone = [i for i in old.items.values() if i.id not in new.items]
    came = [i for i in new.items.values() if i.id not in old.items]
    for item in gone:
        keys = keys_of(item)
        fits = [i for i in came if key_of(i.name) == key_of(item.name)] or [
            i for i in came if 2 * len(keys & keys_of(i)) > len(keys)
        ]
        if fits:
            came.remove(fits[0])
            found.append((item.id, fits[0].id))
    return found


def keys_of(item: Item) -> set[str]:
    """An item's names as they are compared."""
    return {key_of(n) for n in (item.name, *item.also)}


def meanings(book: Book) -> dict[str, tuple[str, Item]]:
    """Each name, as it is compared: how it is written and the item it means."""
    return {
        key_of(n): (n, item)
        for item in book.items.values()
        for n in reversed((item.name, *item.also))
    }


def item_changes(old: Book, new: Book, pairs: Sequence[tuple[str, str]]) -> Iterator[EntryChange]:
    """Items that came or went, and names that came, went or mean another item."""
    before, after = meanings(old), meanings(new)
    same = dict(pairs)
    for one in old.items.values():
        if one.id not in same:
            say = f"No longer in the rules: {one.name}. It is answered as a thing no rule knows."
            yield EntryChange("items", one.id, one.name, "went", None, None, None, say)
    known = set(same.values())
    for one in new.items.values():
        if one.id not in known:
            also = f", also called {listed(one.also)}" if one.also else ""
            say = f"New in the rules: {one.name}{also}."
            yield EntryChange("items", one.id, one.name, "came", None, None, None, say)
    for key, (name, item) in after.items():
        if key in before and same.get(before[key][1].id) != item.id:
            was = before[key][1]
            say = f"{capital(quoted(name))} now means {item.name}; it meant {was.name}."
            yield EntryChange("items", item.id, name, "changed", "means", was.name, item.name, say)
    for old_id, new_id in pairs:
        yield from item_fields(old.items[old_id], new.items[new_id], before, after)


def item_fields(
    old: Item, new: Item, before: Mapping[str, Any], after: Mapping[str, Any]
) -> Iterator[EntryChange]:
    """What an item is called, and its other fields."""
    if old.name != new.name:
        say = f"{capital(old.name)} is now called {new.name}."
        yield EntryChange("items", new.id, new.name, "changed", "name", old.name, new.name, say)
    came = [n for n in (new.name, *new.also) if key_of(n) not in before]
    went = [n for n in (old.name, *old.also) if key_of(n) not in after]
    if came or went:
        parts = [f"new: {listed(map(quoted, came))}"] if came else []
        parts += [f"gone: {listed(map(quoted, went))}"] if went else []
        say = ended(f"{capital(new.name)}, names: {'; '.join(parts)}")
        yield EntryChange("items", new.id, new.name, "changed", "also", went, came, say)
    for field in ("section", "hazard", "mark", "plural"):
        values = getattr(old, field), getattr(new, field)
        if values[0] != values[1]:
            yield field_change("items", new.id, new.name, field, *values)
