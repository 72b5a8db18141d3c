"""What `lidwise check` prints: how much was gone through, what is wrong, and what the law says."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

from bot.checking import Verdict, judge
from bot.examples.conversations import run
from bot.examples.files import conversations
from rules.check import Proof
from rules.finding import Finding
from rules.model import Book
from rules.statutory import Finding as Unmet
from rules.statutory import check_days, check_statute, load_statute

Say = Callable[[str], None]


def report(folder: Path, say: Say, data: Path | None = None) -> bool:
    """Check the rule files in a folder, and the examples beside it.

    Conversations among those are played with the language model of the folder `data`, if it has
    one. Returns whether the files may be used.
    """
    verdict = judge(folder, date.today())
    for mistake in verdict.mistakes:
        say(str(mistake))
    if verdict.book is None or verdict.proof is None:
        say(f"\n{amount(len(verdict.errors), 'mistake')}. The rule book cannot be used.")
        return False
    say(covered(verdict.proof))
    say(f"{amount(verdict.cases, 'single example')} tried.")
    played = played_apart(verdict, data, say)
    errors, warnings = len(verdict.errors) + len(played), len(verdict.proof.warnings)
    say(f"{amount(errors, 'mistake')}, {amount(warnings, 'warning').lower()}.")
    lawful = law(verdict.book, say)
    return verdict.passed and lawful and not played


def played_apart(verdict: Verdict, data: Path | None, say: Say) -> tuple[Finding, ...]:
    """Play the conversations, if they can be. Returns and tells what did not go as told."""
    from bot import training

    number = len(conversations(verdict.examples))
    if not number or verdict.book is None:
        say("No conversation is among the examples.")
        return ()
    if data is None or not training.is_current(data):
        say(
            f"{amount(number, 'conversation')} not played: there is no language model here. "
            "Train one: lidwise train"
        )
        return ()
    if not verdict.passed:
        say(f"{amount(number, 'conversation')} not played: put the mistakes right first.")
        return ()
    from bot import logs

    logs.configure()
    from bot.assistant import Assistant
    from bot.trial import Trial

    trial = Trial(Assistant(training.model_file(data)).agent, verdict.book)
    found = run(trial, verdict.examples)
    for mistake in found.mistakes:
        say(str(mistake))
    say(f"{amount(number, 'conversation')} played, {amount(found.turns, 'message')}.")
    return found.mistakes


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
