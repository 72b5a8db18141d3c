"""The settings of text messages, checked and with every secret looked up."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from bot.processes import Failed
from bot.settings import section

SCHEMA: dict[str, Any] = json.loads(
    (Path(__file__).parent / "settings.schema.json").read_text(encoding="utf-8")
)


@dataclass(frozen=True, slots=True)
class Fields:
    """What the gateway calls what it sends. `id` are fields that together tell messages apart."""

    sender: str = "from"
    text: str = "text"
    to: str = "to"
    id: tuple[str, ...] = ("id",)


@dataclass(frozen=True, slots=True)
class Secret:
    """A word that only the gateway knows. `where` is `header` or `field`."""

    where: str
    name: str
    value: str = field(repr=False)


@dataclass(frozen=True, slots=True)
class Signature:
    """How the gateway signs what it sends (RFC 2104)."""

    header: str
    key: str = field(repr=False)
    algorithm: str = "sha256"
    encoding: str = "hex"
    prefix: str = ""


@dataclass(frozen=True, slots=True)
class Send:
    """The gateway's address for messages to send, and how often it is tried; times in seconds."""

    url: str
    fields: Mapping[str, Any] = field(repr=False)
    method: str = "POST"
    form: str = "form"
    headers: Mapping[str, str] = field(default_factory=dict, repr=False)
    attempts: int = 10
    wait: float = 2.0
    timeout: float = 15.0


@dataclass(frozen=True, slots=True)
class Connector:
    """A channel of the framework: its class and what that is made with."""

    path: str
    credentials: Mapping[str, Any] = field(repr=False)


@dataclass(frozen=True, slots=True)
class Options:
    """The settings of text messages.

    `send` is `None` where replies go in the response. `repeat` and `minutes` are the times of the
    schema, `sender` is whom an agent's text comes from. Without `secret` and `signature` there is
    no webhook. `demo` says that nothing is set.
    """

    fields: Fields = Fields()
    secret: Secret | None = None
    signature: Signature | None = None
    send: Send | None = None
    type: str = "text/plain; charset=utf-8"
    body: Any = "{text}"
    repeat: float = 15.0
    messages: int = 30
    minutes: int = 10
    country: str = "GB"
    sender: str = ""
    simulator: bool = False
    connector: Connector | None = None
    demo: bool = False

    @property
    def webhook(self) -> bool:
        """Whether there is a webhook; never one that anybody could post to."""
        return bool(self.secret or self.signature)


def read(settings: Mapping[str, Any]) -> Options | None:
    """The settings under `sms`, `None` if there are none. Raises `Failed` with what to mend."""
    if settings.get("sms") is None:
        return None
    told = section(settings, "sms", SCHEMA)
    fields = told.get("fields", {})
    ids = fields.get("id", "id")
    limit = told.get("limit", {})
    response = told.get("response", {})
    options = Options(
        fields=Fields(
            fields.get("from", "from"),
            fields.get("text", "text"),
            fields.get("to", "to"),
            (ids,) if isinstance(ids, str) else tuple(ids),
        ),
        secret=secret(told.get("secret")),
        signature=signature(told.get("hmac")),
        send=send(told),
        type=response.get("type", "application/json" if "json" in response else Options().type),
        body=response.get("json", response.get("body", "{text}")),
        repeat=told.get("repeat_within", 15.0),
        messages=limit.get("messages", 30),
        minutes=limit.get("minutes", 10),
        country=told.get("country", "GB"),
        sender=told.get("sender", ""),
        simulator=told.get("simulator", False),
        connector=connector(told.get("connector")),
    )
    if not (options.webhook or options.connector or "simulator" in told):
        raise Failed(
            "settings.yml, sms: anyone could write in another's name. Add 'secret' (a word the "
            "gateway sends along) or 'hmac' (its signature); README.md shows both."
        )
    return options


def secret(told: Mapping[str, str] | None) -> Secret | None:
    """The shared secret."""
    if told is None:
        return None
    where = "header" if "header" in told else "field"
    return Secret(where, told[where], value_of(told, "secret"))


def signature(told: Mapping[str, str] | None) -> Signature | None:
    """The signature."""
    if told is None:
        return None
    return Signature(
        told["header"],
        value_of(told, "hmac"),
        told.get("algorithm", "sha256"),
        told.get("encoding", "hex"),
        told.get("prefix", ""),
    )


def value_of(told: Mapping[str, str], where: str) -> str:
    """A secret, from the file or from the environment."""
    if "secret" in told:
        return told["secret"]
    return from_environment(told["secret_env"], where)


def from_environment(name: str, where: str) -> str:
    """A value of the environment. Raises `Failed` without one."""
    found = os.environ.get(name)
    if not found:
        raise Failed(
            f"settings.yml, sms: {where}: the environment variable {name} is not set. Set it "
            "before 'lidwise run'."
        )
    return found


def send(told: Mapping[str, Any]) -> Send | None:
    """Where replies are sent, unless they go in the response."""
    if told.get("reply", "response") == "response":
        return None
    if "send" not in told:
        raise Failed("settings.yml, sms: 'reply: send' needs the gateway's address. Add 'send'.")
    there = told["send"]
    fields = looked_up(there["fields"], "send")
    if "{to}" not in json.dumps(fields) or "{text}" not in json.dumps(fields):
        raise Failed("settings.yml, sms: send: fields: {to} and {text} must stand in them.")
    method = there.get("method", "POST")
    return Send(
        url=there["url"],
        fields=fields,
        method=method,
        form=there.get("as", "form" if method == "POST" else "query"),
        headers=looked_up(there.get("headers", {}), "send"),
        attempts=there.get("attempts", 10),
        wait=there.get("wait", 2.0),
        timeout=there.get("timeout", 15.0),
    )


def looked_up(told: Any, where: str) -> Any:
    """A structure in which every `{env: NAME}` is replaced by the variable's value."""
    if isinstance(told, dict):
        if set(told) == {"env"}:
            return from_environment(str(told["env"]), where)
        return {str(k): looked_up(v, where) for k, v in told.items()}
    if isinstance(told, list):
        return [looked_up(v, where) for v in told]
    return told


def connector(told: Mapping[str, Any] | None) -> Connector | None:
    """The framework's own channel."""
    if told is None:
        return None
    return Connector(told["class"], looked_up(told.get("credentials", {}), "connector"))


def for_demo(secret_word: str) -> Options:
    """What holds without settings on this machine alone: a simulator, and a webhook whose secret
    only programs that can read the data folder know."""
    there = Secret("header", "x-sms-secret", secret_word)
    return Options(secret=there, simulator=True, demo=True)
