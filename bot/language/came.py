"""A holder named by what came in it: "the box the washing powder came in"."""

from __future__ import annotations

from collections.abc import Iterator

from bot.language.found import Context, Findings, Found
from bot.language.lexicon import Index, Target
from bot.language.words import joined, language, phrase_words

CAME = frozenset(
    {"came", "come", "comes", "was", "were", "is", "are", "bought", "sold", "wrapped", "packed"}
    | {"delivered", "arrived"}
)


def came_in(findings: Findings, context: Context) -> Iterator[Found]:
    """A holder named by what came in it: "the box the washing powder came in".

    Where no name tells of both, it is the holder alone: "the cardboard box the puzzle came in".
    """
    words, names, lang = findings.words, context.lexicon.names, language()
    for i, word in enumerate(words):
        if word.norm not in lang.came_in:
            continue
        end = next(
            (
                j
                for j in range(i + 2, min(i + 10, len(words) - 1))
                if words[j].norm in CAME and words[j + 1].norm == "in"
            ),
            0,
        )
        if not end or not all(w.is_word for w in words[i : end + 1]):
            continue
        if words[i + 1].norm in ("and", "or", "with", "in") or words[i + 1].norm in lang.came_in:
            continue
        inside = [w.norm for w in words[i + 1 : end]]
        start, itself = alone(findings, i, names)
        for target in of_both(inside, word.norm, context) or itself:
            yield Found(target, start, end + 2)


def of_both(inside: list[str], holder: str, context: Context) -> tuple[Target, ...]:
    """What is named by what is inside and what holds it, under any name of what is inside."""
    names, items = context.lexicon.names, context.lexicon.book.items
    for size in (3, 2, 1):
        content = joined(inside[-size:])
        found = names.get(content + holder)
        if found:
            return found
        for thing in names.get(content, ()):
            if thing.kind != "item":
                continue
            for name in (items[thing.id].name, *items[thing.id].also):
                found = names.get(joined(phrase_words(name)) + holder)
                if found:
                    return found
    return ()


def alone(findings: Findings, i: int, names: Index) -> tuple[int, tuple[Target, ...]]:
    """The longest name that ends with a holder, and where it begins."""
    for size in (3, 2, 1):
        if i + 1 >= size:
            found = names.get(joined(w.norm for w in findings.words[i + 1 - size : i + 1]))
            if found:
                return i + 1 - size, tuple(t for t in found if t.kind == "item")
    return i, ()
