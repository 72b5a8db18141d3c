"""What is counted: each rule is the sentence people read and the test the program makes."""

from __future__ import annotations

from datetime import date

from bot.figures.figure import Counted
from bot.figures.follow import LOST, Second, Turn
from bot.figures.traffic import Said, Thing
from bot.figures.words import KINDS
from rules.model import Book

MESSAGE: Counted[Turn] = Counted(
    "Each message counts once, on its day by UK time. A reply to the assistant’s question is a "
    "message too. A mere greeting, thanks or goodbye is left out.",
    lambda turn: turn.kind != "small_talk",
)
TOLD: Counted[Thing] = Counted(
    "A thing counts each time a reply says where it goes. While the assistant still asks about it, "
    "it does not count. Questions that only want to know why or how are left out.",
    lambda thing: thing.kind != "information",
)
KNOWN: Counted[Thing] = Counted("Only things the rules know.", lambda thing: thing.item is not None)
UNKNOWN: Counted[Thing] = Counted(
    "Only things no rule knows. The same words count together; capitals and a, an, the or my "
    "before them make no difference.",
    lambda thing: thing.item is None,
)
CALM: Counted[Thing] = Counted("Emergencies are left out.", lambda thing: thing.kind != "emergency")
FOLLOWED: Counted[Second] = Counted(
    "A question whose conversation was forgotten cannot be followed and is left out of the shares.",
    lambda second: second.outcome != LOST,
)
SECOND = (
    "Each question the assistant asked counts once, however often it was put again, on the day it "
    "was first put. It is settled when a later reply in that conversation, up to a day after the "
    "period, says where the thing goes. A careful answer was given where that stayed open."
)
REMARK: Counted[Said] = Counted(
    "Each remark a resident or an agent made counts once, on the day it was made.",
    lambda said: True,
)


def of_kind(code: str) -> Counted[Turn]:
    """Messages with one kind of reply; `other` is every kind without a name of its own."""
    if code in KINDS:
        return Counted(f"The reply is “{KINDS[code]}”.", lambda turn: turn.kind == code)
    return Counted("The reply is of another kind.", lambda turn: turn.kind not in KINDS)


class Bins:
    """The containers that were named, and those among them that the rule says no to."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.there: dict[tuple[str | None, date | str, tuple[str, ...]], tuple[str, ...]] = {}
        self.named: Counted[Thing] = Counted(
            "A thing counts when the resident named a container their district has on that day.",
            lambda thing: bool(self.of(thing)),
        )
        self.another: Counted[Thing] = Counted(
            "It counts as another container when none of those named is where the rule sends it, "
            "not even as an alternative.",
            lambda thing: {thing.destination, *thing.alternatives}.isdisjoint(self.of(thing)),
        )
        """Of those in which one was named."""

    def asked(self, things: list[Thing]) -> list[Thing]:
        """The things that are told where they go and were asked about with a container."""
        return self.named.among(CALM.among(TOLD.among(things)))

    def of(self, thing: Thing) -> tuple[str, ...]:
        """The containers named with a thing that its district has on the day; without a district,
        that any district has."""
        if not thing.meant:
            return ()
        key = thing.district, thing.on or thing.day, thing.meant
        found = self.there.get(key)
        if found is None:
            found = self.there[key] = self.having(thing)
        return found

    def having(self, thing: Thing) -> tuple[str, ...]:
        """The same, looked up in the book."""
        here = self.book.districts.get(thing.district or "")
        districts = [here] if here else self.book.districts.values()
        day = date.fromisoformat(thing.on) if thing.on else thing.day
        return tuple(
            code
            for code in thing.meant
            if any(c.code == code and c.period.holds(day) for d in districts for c in d.containers)
        )
