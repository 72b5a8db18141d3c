"""What `lidwise check` prints: how much was gone through, what is wrong, and what the law says."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

from bot.checking import judge
from rules.check import Proof
from rules.model import Book
from rules.statutory import Finding as Unmet
from rules.statutory import check_days, check_statute, load_statute

Say = Callable[[str], None]


def report(folder: Path, say: Say) -> bool:
    """Check the rule files in a folder. Returns whether they may be used."""
    verdict = judge(folder, date.today())
    for mistake in verdict.mistakes:
        say(str(mistake))
    if verdict.book is None or verdict.proof is None:
        say(f"\n{amount(len(verdict.errors), 'mistake')}. The rule book cannot be used.")
        return False
    say(covered(verdict.proof))
    errors, warnings = len(verdict.proof.errors), len(verdict.proof.warnings)
    say(f"{amount(errors, 'mistake')}, {amount(warnings, 'warning').lower()}.")
    lawful = law(verdict.book, say)
    printed = guide(verdict.book, say) if verdict.passed else True
    return verdict.passed and lawful and printed


def guide(book: Book, say: Say) -> bool:
    """Whether the printed guide keeps to its two pages, today and on each later day of change."""
    if book.guide is None:
        return True
    from bot.processes import Failed
    from bot.publish.lines import days_from
    from bot.publish.pdf import pdf

    days = days_from(book, max(date.today(), book.scheme.starts))
    try:
        for day in days:
            for district in book.districts:
                pdf(book, district, day)
    except Failed as failed:
        say(f"\n{failed}")
        return False
    say(f"\nThe printed guide fits its two pages in each district, on {amount(len(days), 'day')}.")
    return True


def amount(number: int, noun: str) -> str:
    """A count and its noun."""
    return f"{number or 'No'} {noun}{'' if number == 1 else 's'}"


def covered(proof: Proof) -> str:
    """How much was gone through."""
    return (
        f"{proof.districts} districts × {proof.days} days × {proof.items} items: "
        f"{proof.combinations:,} combinations, {proof.walks:,} ways through the questions and "
        f"{proof.answers:,} answers in {proof.seconds:.1f} s"
    )


def law(book: Book, say: Say) -> bool:
    """Whether each district collects what the law says, on each day on which that can change."""
    statute = load_statute()
    unmet = check_statute(book, statute)
    say(f"\n{statute.law}")
    for day in check_days(book, statute):
        duties = [d for d in statute.duties if d.start <= day]
        for district in book.districts.values():
            say(line(day, district.id, district.name, len(duties), unmet))
    for finding in unmet:
        say(str(finding))
    return not unmet


def line(day: date, district: str, name: str, duties: int, unmet: list[Unmet]) -> str:
    """One district on one day."""
    missed = {f.duty for f in unmet if f.day == day and f.district == district}
    told = "met" if not missed else f"not met: {', '.join(sorted(missed))}"
    return f"  {day}  {name}: {duties - len(missed)} of {duties} duties {told}"
