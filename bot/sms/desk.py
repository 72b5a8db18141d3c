"""Takes in a text message and gives the reply: commands, limits, memory, and never twice."""

from __future__ import annotations

import asyncio
import logging
import time
import weakref
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, replace

from actions.current import SHELF
from actions.fitting import plain
from actions.phrases import contact, wording
from bot.privacy.stored import without
from bot.sms import keywords
from bot.sms.numbers import Numbers
from bot.sms.options import Options
from bot.sms.received import Received
from bot.sms.store import Store, Texter

logger = logging.getLogger(__name__)

HARD = 10
"""Times the limit up to which a message beyond it is still looked at for a danger."""
FRESH = 12 * 3600.0
"""Seconds after which a question that is open is forgotten."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The assistant's answer: its words, its kind, and the district the person told, if any."""

    text: str
    kind: str = "answer"
    district: str | None = None


Ask = Callable[[str, str, str | None, bool], Awaitable[Answer]]
"""Asks the assistant: the sender's name, the message, the district, whether to start afresh."""


class Desk:
    """One for all ways in. `sent` is called when something was put into the outbox; `clock` tells
    the time, in seconds since 1970."""

    def __init__(
        self,
        options: Options,
        numbers: Numbers,
        store: Store,
        ask: Ask,
        sent: Callable[[], None] = lambda: None,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self.options, self.numbers, self.store = options, numbers, store
        self.ask, self.sent, self.clock = ask, sent, clock
        self.open: dict[str, asyncio.Task[str]] = {}
        self.turns: weakref.WeakValueDictionary[str, asyncio.Lock] = weakref.WeakValueDictionary()

    async def receive(self, message: Received, to_outbox: bool = False) -> str:
        """The reply to a message, empty for none; put into the outbox too if asked for.

        A message that came before gets the reply it got then, and nothing is sent again. The work
        goes on if the gateway hangs up, so that its next try finds the reply.
        """
        name = self.numbers.name(message.number)
        what = ("id", message.id) if message.id else ("text", message.text)
        key = self.numbers.mac("message", name, *what).hex()
        task = self.open.get(key)
        if task is None:
            since = 0.0 if message.id else self.clock() - self.options.repeat
            known = self.store.reply_to(key, since)
            if known is not None:
                return known
            task = asyncio.get_running_loop().create_task(
                self.handle(key, name, message, to_outbox)
            )
            self.open[key] = task
            task.add_done_callback(lambda _: self.open.pop(key, None))
        return await asyncio.shield(task)

    async def handle(self, key: str, name: str, message: Received, to_outbox: bool) -> str:
        """Answer a message that did not come before, after those of the same person before it."""
        turn = self.turns.get(name)
        if turn is None:
            self.turns[name] = turn = asyncio.Lock()
        async with turn:
            now = self.clock()
            self.store.begin(key, name, now)
            reply = await self.reply(self.store.texter(name), message.text, now)
            sealed = None
            if to_outbox and reply:
                told = {"to": message.number, "from": message.to, "text": reply}
                sealed = self.numbers.seal(told)
            self.store.finish(key, without(reply, message.text), key[:32], sealed)
        if sealed:
            self.sent()
        return reply

    async def reply(self, texter: Texter, text: str, now: float) -> str:
        """The words of the reply, empty for none."""
        here = replace(texter, seen=now)
        command = keywords.command(text)
        if command == "stop":
            self.store.drop(texter.name)
            self.store.remember(replace(here, stopped=True))
            return "" if texter.stopped else self.words("text_stop")
        if command == "start":
            self.store.remember(replace(here, stopped=False))
            return self.words("text_start")
        window = self.options.minutes * 60.0
        if self.store.count(texter.name, now - window) > self.options.messages:
            silent = texter.stopped or now - texter.warned < window
            self.store.remember(here if silent else replace(here, warned=now))
            if self.store.count(texter.name, now - window) <= HARD * self.options.messages:
                urgent = await self.ask(f"sms-{texter.name}", keywords.choice(text), None, False)
                if urgent.kind == "emergency":
                    return urgent.text
            return "" if silent else self.words("text_limit", minutes=str(self.options.minutes))
        self.store.remember(here)
        if command == "help" or not text.strip():
            words = self.words("text_help" if command else "text_empty")
            return "" if texter.stopped else words
        answer = await self.ask(
            f"sms-{texter.name}",
            keywords.choice(text),
            texter.district,
            now - texter.seen > FRESH,
        )
        if answer.district and answer.district != texter.district:
            self.store.remember(replace(here, district=answer.district))
        if texter.stopped and answer.kind != "emergency":
            return ""
        return answer.text

    def words(self, name: str, **more: str) -> str:
        """A sentence of the service itself."""
        book = SHELF.current()
        told = wording()[name]["short"]
        return plain(told.format(**contact(book), name=book.scheme.name, **more))
