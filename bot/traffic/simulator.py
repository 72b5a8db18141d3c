"""Lets all simulated people talk to the assistant, in the order of their clocks."""

from __future__ import annotations

import heapq
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timezone
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bot.conversations import Conversations
from bot.processes import Failed
from bot.record.entry import TABLE
from bot.remarks import Remarks
from bot.traffic.channels import Channels
from bot.traffic.oracle import Meant
from bot.traffic.persons import person, random_of
from bot.traffic.plan import Plan
from bot.traffic.visits import Heard, Line, Talk, Verdict, Visit
from bot.webchat import intake
from rules.model import Book

if TYPE_CHECKING:
    from bot.assistant import Assistant

Tell = Callable[[int, int], None]
"""Told now and then how many messages were sent, and how many people are done."""


@dataclass(slots=True)
class Done:
    """What was made. `seconds` is how long that took, `unanswered` counts messages without one
    machine-readable answer, which no message should be."""

    conversations: Counter[str] = field(default_factory=Counter)
    messages: Counter[str] = field(default_factory=Counter)
    kinds: Counter[str] = field(default_factory=Counter)
    remarks: Counter[str] = field(default_factory=Counter)
    meant: list[Meant] = field(default_factory=list)
    unanswered: int = 0
    seconds: float = 0.0


@dataclass(slots=True)
class Going:
    """A person's conversation under way. `turn` is the id of the last message."""

    visit: Visit
    talk: Talk
    token: str
    turn: str = ""
    question: str = ""
    heard: Heard | None = None

    @property
    def now(self) -> float:
        """Seconds since 1970 on this person's clock."""
        return self.visit.person.at.timestamp() + self.visit.clock


class Simulator:
    """One run over a data folder, which a running server may use at the same time."""

    def __init__(self, assistant: Assistant, data: Path, book: Book, plan: Plan) -> None:
        self.assistant, self.book, self.plan = assistant, book, plan
        self.now = 0.0
        self.store = Conversations(assistant.agent.domain, db=str(data / "conversations.db"))
        self.store.clock = lambda: self.now
        self.store.demo = True
        self.remarks = Remarks(data / "remarks.db")
        self.done = Done()

    def run(self, tell: Tell = lambda sent, done: None) -> Done:
        """Simulate. Raises `Failed` if this very traffic is there already."""
        started = time.monotonic()
        self.assistant.keep_in(self.store)
        with tempfile.TemporaryDirectory() as folder:
            channels = Channels(
                self.assistant.agent, lambda: self.now, self.plan.seed, Path(folder)
            )
            try:
                self.talk(channels, tell)
            finally:
                channels.close()
                self.done.seconds = time.monotonic() - started
        return self.done

    def talk(self, channels: Channels, tell: Tell) -> None:
        """All conversations, step by step."""
        going = [self.begun(n) for n in range(self.plan.people)]
        self.refuse_twice([channels.name(g.visit.person, g.token) for g in going])
        steps: list[tuple[float, int, Line | Verdict]] = []
        for n, one in enumerate(going):
            step = next(one.talk)
            heapq.heappush(steps, (one.now, n, step))
            self.done.conversations[one.visit.person.channel] += 1
        while steps:
            self.now, n, step = heapq.heappop(steps)
            following = self.step(channels, going[n], step)
            if following is not None:
                heapq.heappush(steps, (going[n].now, n, following))
            else:
                self.done.meant += going[n].visit.meant
            tell(sum(self.done.messages.values()), len(going) - len(steps))

    def begun(self, number: int) -> Going:
        """A person about to begin."""
        plan = self.plan
        rng = random_of(plan.seed, plan.start, plan.end, number)
        who = person(rng, number, tuple(self.book.districts), plan.start, plan.end)
        visit = Visit(who, self.book, rng)
        return Going(visit, visit.talk(), f"{rng.getrandbits(128):032x}")

    def step(self, channels: Channels, one: Going, step: Line | Verdict) -> Line | Verdict | None:
        """Do one thing a person does; gives the next, `None` when that was the last."""
        heard: Heard | None = None
        if isinstance(step, Line):
            heard = self.sent(channels, one, step)
            if heard is None:
                one.talk.close()
                return None
        else:
            self.judged(channels, one, step)
        try:
            return one.talk.send(heard)
        except StopIteration:
            return None

    def sent(self, channels: Channels, one: Going, line: Line) -> Heard | None:
        """Send a message; the reply, `None` without one machine-readable answer."""
        who = one.visit.person
        one.turn = f"{one.visit.rng.getrandbits(96):024x}"
        messages = self.assistant.loop.run_until_complete(
            channels.send(who, one.token, line.text, one.turn, one.visit.day)
        )
        self.done.messages[who.channel] += 1
        answers = [m["custom"] for m in messages if "custom" in m]
        if len(answers) != 1:
            self.done.unanswered += 1
            return None
        one.question = line.text
        buttons = tuple(str(b["title"]) for m in messages for b in m.get("buttons") or ())
        one.heard = Heard(answers[0], buttons)
        self.done.kinds[str(answers[0]["kind"])] += 1
        return one.heard

    def judged(self, channels: Channels, one: Going, said: Verdict) -> None:
        """Keep what a person says of the last answer, as the page they use would."""
        who = one.visit.person
        told: dict[str, Any] = {
            "sender": channels.name(who, one.token),
            "message_id": one.turn,
            "kind": said.kind,
            "note": said.note,
        }
        more: dict[str, Any] = {"at": datetime.fromtimestamp(self.now, timezone.utc), "demo": True}
        if who.channel == "panel":
            assert one.heard is not None
            self.remarks.add(
                said.kind,
                channel="panel",
                conversation=told["sender"],
                question=one.question,
                note=said.note,
                district=who.district if who.tells_district else None,
                on=one.visit.day.isoformat(),
                reply=one.heard.answer,
                **more,
            )
        else:
            intake.keep(self.remarks, self.store, told, **more)
        self.done.remarks[said.kind] += 1

    def refuse_twice(self, names: list[str]) -> None:
        """Raise `Failed` if a conversation of one of these names was simulated before."""
        import sqlalchemy as sa

        wanted = set(names)
        with self.store.engine.connect() as connection:
            query = sa.select(TABLE.c.conversation).where(TABLE.c.demo).distinct()
            there = {name for (name,) in connection.execute(query)}
        if there & wanted:
            raise Failed(
                f"The demo traffic of seed {self.plan.seed} for these days is there already. Take "
                "it away with 'lidwise demo-traffic --remove', or give another --seed."
            )
