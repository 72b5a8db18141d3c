"""The whole assistant in one process, without a network: for the terminal, the tests and benches.

It runs the same trained pipeline, dialogue rules and custom actions as the servers do.
"""

from __future__ import annotations

import asyncio
import uuid
from pathlib import Path
from typing import Any

from rasa.core.agent import Agent, load_agent
from rasa.core.channels.channel import CollectingOutputChannel, UserMessage
from rasa.core.tracker_store import InMemoryTrackerStore, TrackerStore
from rasa.core.utils import AvailableEndpoints
from rasa.utils.endpoints import EndpointConfig
from rasa_sdk.executor import ActionExecutor

import bot.endpoint  # noqa: F401  its quicker check of replies


class InProcess(EndpointConfig):  # type: ignore[misc]
    """An action endpoint that runs the custom actions where it is called."""

    def __init__(self) -> None:
        super().__init__(url="in-process")
        self.executor = ActionExecutor()
        self.executor.register_package("actions.handlers")

    async def request(self, method: str = "post", **kwargs: Any) -> Any:
        """What the action server would answer."""
        return await self.executor.run(kwargs["json"])


class Assistant:
    """A loaded assistant."""

    def __init__(self, model: Path) -> None:
        self.loop = asyncio.new_event_loop()
        endpoints = AvailableEndpoints(action=InProcess())
        self.agent: Agent = self.loop.run_until_complete(
            load_agent(model_path=str(model), endpoints=endpoints, loop=self.loop)
        )
        self.keep_in(InMemoryTrackerStore(domain=self.agent.domain))

    def keep_in(self, store: TrackerStore) -> None:
        """Keep conversations in a store; at first they are kept in memory."""
        self.agent.tracker_store = store
        self.agent.processor.tracker_store = store

    def say(self, message: str, sender: str | None = None, **metadata: Any) -> list[dict[str, Any]]:
        """Send one message and return the messages of the reply."""
        out = CollectingOutputChannel()
        name = sender or uuid.uuid4().hex
        user = UserMessage(message, out, name, input_channel="rest", metadata=metadata)
        self.loop.run_until_complete(self.agent.handle_message(user))
        return list(out.messages)

    def parse(self, message: str) -> dict[str, Any]:
        """What the language pipeline makes of a message."""
        result = self.loop.run_until_complete(self.agent.parse_message(message))
        return dict(result)


def answer_of(messages: list[dict[str, Any]]) -> dict[str, Any]:
    """The machine-readable answer among a reply's messages. Raises `ValueError` unless one."""
    found = [m["custom"] for m in messages if "custom" in m]
    if len(found) != 1:
        raise ValueError(f"{len(found)} messages of the reply carry an answer, not one")
    return dict(found[0])


def text_of(messages: list[dict[str, Any]]) -> str:
    """What a person reads of a reply."""
    return "\n".join(m["text"] for m in messages if m.get("text"))
