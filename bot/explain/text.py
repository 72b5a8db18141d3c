"""An explained conversation as lines for the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from bot.explain.search import Hit
from bot.explain.story import Step, Thing


def lines(steps: Iterable[Step]) -> Iterator[str]:
    """The steps, each with a blank line before it."""
    for number, step in enumerate(steps, 1):
        entry = step.entry
        where = entry.district or "no district"
        yield ""
        yield f"{number}. {step.at:%Y-%m-%d %H:%M}, by {entry.channel}, {where}, for {entry.on}"
        yield f"   asked       {entry.question}"
        for what, how in step.understood:
            yield f"   understood  {what}: {how}"
        for thing in step.things:
            yield from of_thing(thing)
        for text in step.answered or ("(no reply is kept)",):
            yield f"   answered    {text}"
        yield f"   kind        {entry.kind}"
        for remark in step.remarks:
            yield f"   remark      {remark.kind}{': ' * bool(remark.note)}{remark.note}"
        for told in step.remembered:
            yield f"   remembered  {told}"
        yield f"   rule book   {step.book or 'not known'}"
        if step.lack:
            yield f"               {step.lack}"


def of_thing(thing: Thing) -> Iterator[str]:
    """What was decided of one thing."""
    words = f" (“{thing.asked_as}”)" if thing.asked_as else ""
    yield f"   decided     {thing.name}{words}: {thing.goes}"
    for label, facts in (
        ("stated", thing.stated),
        ("assumed", thing.assumed),
        ("not settled", thing.unsettled),
    ):
        if facts:
            yield f"     {label:<11} {'; '.join(facts)}"
    if thing.passage:
        yield f"     rule        {thing.passage.file}, line {thing.passage.line} ({thing.rule})"
        for line in thing.passage.text.splitlines():
            yield f"       | {line}"
    elif thing.rule:
        yield f"     rule        {thing.rule}"
    if thing.source:
        yield f"     source      {thing.source}"
    if thing.now:
        yield f"     today       {thing.now}"


def listed(hits: Iterable[Hit]) -> Iterator[str]:
    """Conversations, one a line."""
    for hit in hits:
        first = hit.first if len(hit.first) <= 60 else hit.first[:57] + "…"
        yield (
            f"{hit.began:%Y-%m-%d %H:%M}  {hit.channel:<8} {hit.district or '-':<10} "
            f"{hit.turns:>3}  {hit.conversation}  {first}"
        )
