"""What each threshold of "off topic" would cost, by what a message names.

`python -m bot.measure.thresholds`. For each sort of message (`actions/elsewhere.py`): how many of
the questions would be lost, and how many unrelated messages answered, if messages were answered
below that likelihood of being off topic. Only messages that may be looked at are counted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date

from bot import lean

STEPS = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)


def outside(
    messages: Iterable[str], sort: Callable[[str], tuple[str, float]]
) -> dict[str, list[float]]:
    """How likely off topic the messages of each sort are."""
    found: dict[str, list[float]] = {}
    for message in messages:
        kind, likely = sort(message)
        found.setdefault(kind, []).append(likely)
    return found


def main() -> None:
    """Print the table."""
    lean.first()
    from bot import logs, paths

    logs.configure()
    from actions.current import SHELF
    from actions.elsewhere import DOUBTFUL, OUTSIDE, sort_of
    from actions.state import State
    from actions.turn import Turn
    from actions.understanding import from_message
    from bot.assistant import Assistant
    from bot.measure import heldout
    from bot.training import model_file

    assistant, book = Assistant(model_file(paths.DATA)), SHELF.current()

    def sort(message: str) -> tuple[str, float]:
        u = from_message(assistant.parse(message))
        return sort_of(Turn(book, State(), u, None, date.today())), u.outside

    firsts = [c.turns[0] for c in heldout.conversations() if c.part != heldout.UNSEEN]
    questions = outside((t.say for t in firsts if t.intent in ("ask", "danger")), sort)
    unrelated = outside(heldout.unrelated("looked_at"), sort)
    print(f"{'':10}{'messages':>16}" + "".join(f"{s:>9}" for s in STEPS) + f"{'set to':>14}")
    for kind in OUTSIDE:
        asked, other = questions.get(kind, []), unrelated.get(kind, [])
        counts = [f"{sum(p >= s for p in asked)}/{sum(p < s for p in other)}" for s in STEPS]
        total = f"{len(asked)}/{len(other)}"
        chosen = f"{DOUBTFUL[kind]}, {OUTSIDE[kind]}"
        print(f"{kind:10}{total:>16}" + "".join(f"{c:>9}" for c in counts) + f"{chosen:>14}")


if __name__ == "__main__":
    main()
