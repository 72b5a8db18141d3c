"""The officer's examples of single answers, a line each: what must not change is as it was."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from rules.decide import Decision, RuleGap, decide
from rules.finding import Finding
from rules.model import DISTRICT, Book, Place
from rules.yamlfile import parse

FIELDS = {"item", "facts", "district", "on"}
ENDS = ("destination", "asks")
HOW = "A line needs item, facts, district, on, and either destination or asks"


def check_cases(book: Book, texts: Mapping[str, str]) -> tuple[int, list[Finding]]:
    """How many cases some files hold, and each that the book does not answer as told."""
    count = 0
    found: list[Finding] = []
    for file, text in texts.items():
        document, mistakes = parse(file, text)
        found += [Finding(Place(m.file, m.line), m.what, m.cure) for m in mistakes]
        if mistakes:
            continue
        data = document.data
        cases = data.get("cases") if isinstance(data, dict) else None
        if not isinstance(cases, list):
            found.append(Finding(Place(file, 1), "there is no list 'cases:'", HOW))
            continue
        for n, case in enumerate(cases):
            count += 1
            place = Place(file, document.line(("cases", n)))
            found += [Finding(place, what, cure) for what, cure in wrong(book, case)]
    return count, found


def wrong(book: Book, case: Any) -> Iterator[tuple[str, str]]:
    """What is wrong with a case, and how to put it right."""
    end = next((e for e in ENDS if isinstance(case, dict) and e in case), "")
    if not end or set(case) != FIELDS | {end} or not isinstance(case["facts"], dict):
        yield "this is no case", HOW
        return
    item, facts, district = case["item"], case["facts"], case["district"]
    unknown = [
        f"there is no {kind} '{name}'"
        for kind, name, known in (
            ("item", item, book.items),
            ("district", district, book.districts),
            *(("condition", c, {**book.conditions, DISTRICT: None}) for c in facts),
        )
        if name not in known
    ]
    unknown += [
        f"'{c}' has no value '{v}'"
        for c, v in facts.items()
        if c in book.conditions and v not in book.conditions[c].values
    ]
    try:
        on = date.fromisoformat(str(case["on"]))
    except ValueError:
        unknown.append(f"there is no day {case['on']}")
    if unknown:
        yield from ((what, "Correct it, or take the line out") for what in unknown)
        return
    try:
        answer = decide(book, district, on, item, facts)
    except RuleGap as gap:
        yield f"'{item}' has no answer: {gap}", "Give it an outcome for this case"
        return
    came = (
        answer.destination if isinstance(answer, Decision) else f"a question ({answer.condition})"
    )
    wanted = case[end] if end == "destination" else f"a question ({case[end]})"
    if came != wanted:
        yield (
            f"'{item}' in {district} on {on} should give {wanted}, and gives {came}",
            "Mend the rule, or correct this line if the new answer is right",
        )
