"""`python -m rules.bench`: how fast the proof, decisions and comparisons are on this machine.

Seconds differ between machines; the ratios to reading the same files with plain PyYAML, measured in
the same run, differ less.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from time import perf_counter

import yaml

from rules.check import prove
from rules.compare import compare
from rules.decide import decide
from rules.loader import BOOK, load, load_texts, read_files
from rules.model import Book

RUNS = 3


def best(work: Callable[[], object]) -> float:
    """The shortest time of a few runs."""
    times = []
    for _ in range(RUNS):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return min(times)


def plain_reading() -> None:
    """The baseline: every rule file read by PyYAML, nothing checked."""
    for text in read_files(BOOK).values():
        yaml.safe_load(text)


def every_decision(book: Book, day: date) -> int:
    """One decision for each item in each district, and without one."""
    places = (*book.districts, None)
    for item in book.items:
        for district in places:
            decide(book, district, day, item)
    return len(book.items) * len(places)


def another(passage: str, other: str) -> Book:
    """The book with one passage replaced wherever it stands."""
    return load_texts({k: v.replace(passage, other) for k, v in read_files(BOOK).items()})


def main() -> None:
    """Measure and print."""
    book = load()
    today = max(f.reviewed for f in book.files)
    proof = prove(book, today)
    decisions = every_decision(book, book.scheme.starts)
    reading = best(plain_reading)
    loading = best(load)
    proving = best(lambda: prove(book, today))
    deciding = best(lambda: every_decision(book, book.scheme.starts))
    since = book.scheme.starts
    edited = another("Larger shops collect soft plastic.", "Shops collect it.")
    worded = another("why: ", "why: Now, ")
    comparing = best(lambda: compare(book, edited, since=since).lines())
    comparing_all = best(lambda: compare(book, worded, since=since).lines())
    print(f"baseline, plain PyYAML   {reading:8.3f} s")
    print(f"load                     {loading:8.3f} s  {loading / reading:6.2f} of the baseline")
    print(
        f"proof                    {proving:8.3f} s  {proving / reading:6.2f} of the baseline  "
        f"{proof.combinations} combinations, {proof.combinations / proving:.0f} a second"
    )
    print(
        f"decisions                {deciding:8.3f} s  {deciding / reading:6.2f} of the baseline  "
        f"{decisions} decisions, {decisions / deciding:.0f} a second"
    )
    for what, seconds in (("one reason", comparing), ("every reason", comparing_all)):
        name = f"compare, {what} differs"
        print(f"{name:<34}{seconds:6.3f} s  {seconds / reading:6.2f} of the baseline")


if __name__ == "__main__":
    main()
