"""Prints how well this pipeline, others, and this one without each of its parts, understand.

`make bench-understanding`. The framework's default pipeline is trained on first use, which takes
many minutes. `--quick` measures this pipeline alone; `--wrong` lists its failures instead.
"""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

from bot import lean, paths
from bot.language.found import PARTS
from bot.measure.scoring import Tally

COLUMNS = ("items", "conditions", "kind", "turns", "conversations", "unsafe", "false", "ms", "MB")


def run(name: str, *without: str) -> Tally:
    """One system's figures, measured in a process of its own."""
    command = [sys.executable, "-m", "bot.measure.run", name, *without]
    done = subprocess.run(command, cwd=paths.PROJECT, capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(f"{' '.join(command)} failed:\n{done.stderr[-2000:]}")
    data: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return Tally(**data)


def line(cells: list[str], first: int = 44) -> str:
    """One row of the table."""
    return f"| {cells[0]:{first}} |" + "".join(f" {c:>13} |" for c in cells[1:])


def show(name: str, tally: Tally) -> None:
    """Print a system's row."""
    row = tally.row()
    print(line([name, *(row[c] for c in COLUMNS)]), flush=True)


def main() -> None:
    """Measure and print."""
    unknown = [a for a in sys.argv[1:] if a not in ("--quick", "--wrong")]
    if unknown:
        raise SystemExit(f"There is no {' '.join(unknown)}. There are: --quick and --wrong.")
    if "--wrong" in sys.argv:
        subprocess.run([sys.executable, "-m", "bot.measure.run", "lidwise", "--wrong"], check=True)
        return
    quick = "--quick" in sys.argv
    print(line(["", *COLUMNS]))
    print(line(["---", *("---:" for _ in COLUMNS)]))
    mine = run("lidwise")
    show("lidwise", mine)
    if not quick:
        show("framework's default pipeline (DIET)", run("framework"))
        show("full-text search over names (FTS5, bm25)", run("fulltext"))
        for part, what in PARTS.items():
            show(f"lidwise without: {what}", run("lidwise", part))
    print(f"\nunsafe answers by kind: {dict(mine.unsafe) or 'none'}")
    for title, groups in (("by who wrote", mine.groups), ("by set", mine.parts)):
        print(f"\n{title:14}{'turns right':>18}{'conversations':>18}")
        for group, (turns, whole) in groups.items():
            of = [f"{p[0]}/{p[1]} {p[0] / p[1]:.1%}" for p in (turns, whole)]
            print(f"{group:14}{of[0]:>18}{of[1]:>18}")
    print("\nconfidence     messages      mean     right")
    for band, number, mean, right in mine.reliability:
        print(f"{band:12}{number:>11}{mean:>10.2f}{right:>10.1%}")
    print(f"expected calibration error {mine.calibration:.3f}")


if __name__ == "__main__":
    lean.first()
    main()
