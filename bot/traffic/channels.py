"""How a simulated message reaches the assistant: the way the channel's own code sends it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from rasa.core.agent import Agent
from rasa.core.channels.channel import UserMessage

from bot.channels.incoming import Incoming, clean
from bot.channels.rest import answered
from bot.sms import options
from bot.sms.answering import Assistant as Texts
from bot.sms.desk import Desk
from bot.sms.numbers import Numbers
from bot.sms.received import Received
from bot.sms.store import Store
from bot.traffic.persons import Person

NAMES = {"webchat": "web-", "panel": "panel-"}
"""How the names of conversations begin, as the pages make them."""


class DemoNumbers(Numbers):
    """Names of invented texters. They can be no real texter's: those are made with another key."""

    def __init__(self, seed: int) -> None:
        self.key = hashlib.sha256(f"demo traffic {seed}".encode()).digest()
        self.country = "GB"


class Channels:
    """The ways in. `clock` gives the simulated time, in seconds since 1970."""

    def __init__(self, agent: Agent, clock: Callable[[], float], seed: int, folder: Path) -> None:
        self.agent, self.seed = agent, seed
        self.numbers = DemoNumbers(seed)
        self.texters = Store(folder / "texters.db")
        self.texters.db.execute("PRAGMA synchronous=OFF")  # forgotten when the run ends
        texts = Texts(lambda: agent)
        texts.on_message = self.stamped
        self.desk = Desk(options.for_demo(""), self.numbers, self.texters, texts, clock=clock)
        self.stamp: tuple[str, date] = ("", date.min)
        self.messages: list[dict[str, Any]] = []

    def close(self) -> None:
        """Forget the texters."""
        self.texters.close()

    def name(self, person: Person, token: str) -> str:
        """The name of the person's conversation; `token` are 32 figures of its own."""
        if person.channel == "sms":
            return f"sms-{self.numbers.name(self.number(person, token))}"
        return NAMES[person.channel] + (token[:24] if person.channel == "panel" else token)

    def number(self, person: Person, token: str) -> str:
        """What stands for the person's number; nothing of it is kept but its hash."""
        return f"demo {token}"

    async def send(
        self, person: Person, token: str, text: str, turn: str, on: date
    ) -> list[dict[str, Any]]:
        """Send a message and give the messages of the reply."""
        if person.channel == "sms":
            self.stamp, self.messages = (turn, on), []
            received = Received(self.number(person, token), text, id=turn)
            await self.desk.receive(received)
            return self.messages
        metadata: dict[str, Any] = {"channel": person.channel, "on": on.isoformat()}
        if person.tells_district:
            metadata["district"] = person.district
        incoming = Incoming(self.name(person, token), clean(text), metadata, turn)
        return await answered(incoming, self.agent.handle_message, self.agent, "rest")

    async def stamped(self, message: UserMessage) -> None:
        """Have a text message answered on the simulated day, and keep the reply's messages."""
        turn, on = self.stamp
        message.message_id = turn
        message.metadata = {**(message.metadata or {}), "on": on.isoformat()}
        await self.agent.handle_message(message)
        self.messages = list(message.output_channel.messages)
