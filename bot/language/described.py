"""Finds things that are described since their name does not come: "the stuff you spray ants with".

What such a description names (ants, here) is not asked about.
"""

from __future__ import annotations

from collections.abc import Iterator

from bot.language.found import Context, Findings, Found
from bot.language.words import language


def leave_described(
    names: list[Found], findings: Findings, context: Context
) -> tuple[list[Found], bool]:
    """Names without those inside a description, hazards apart, and whether that was all of them.

    A hazard inside one stays, because it is safer to speak of it than of nothing.
    """
    inside = {k for first, last in descriptions(findings) for k in range(first, last)}
    if not inside:
        return names, False
    items = context.lexicon.book.items
    kept = [n for n in names if n.first not in inside or items[n.target.id].hazard]
    return kept, not kept


def descriptions(findings: Findings) -> Iterator[tuple[int, int]]:
    """Where the words that describe a vague word stand: "thing [you whisk eggs with]".

    A name right before the vague word belongs to it ("[ceiling] thing that shrieks").
    """
    lang, words = language(), findings.words
    named = {k: n for n in findings.of("item") for k in range(n.first, n.last)}
    for k, word in enumerate(words):
        if not {word.norm, word.base} & lang.vague_words or k + 1 >= len(words):
            continue
        before = words[k - 1].norm if k else ""
        after = words[k + 1]
        if k in named:
            continue
        if before in lang.not_vague or not after.is_word or after.norm in lang.not_described:
            continue
        end = k + 1
        while end < len(words) and not closes(end, findings):
            end += 1
        yield k + 1, end
        if k and k - 1 in named:
            yield named[k - 1].first, k


def closes(k: int, findings: Findings) -> bool:
    """Whether a description ends before a word: at a sign, where the thing is named after all
    ("is", "including"), or where a list goes on."""
    lang, words = language(), findings.words
    if not words[k].is_word:
        return words[k].norm != "-" and words[k].norm != "'"
    if words[k].norm in lang.names_it:
        return True
    after = words[k + 1].norm if k + 1 < len(words) else ""
    return words[k].norm in ("and", "plus", "or") and after in lang.articles
