"""A phone in the terminal: calls the running server's webhook as a gateway would."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import sys
import urllib.error
import urllib.parse
import urllib.request
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bot import settings
from bot.processes import Failed
from bot.sms import options as opts
from bot.sms.numbers import KEY, Numbers
from bot.sms.options import Options
from rules import sms

HELP = "Type a text and press Enter; Ctrl-D ends. Each line is one text message."


class Gateway:
    """What stands between the terminal and the webhook. `address` is the server's."""

    def __init__(self, data: Path, address: str) -> None:
        self.address = address.rstrip("/") + "/webhooks/sms/webhook"
        self.options = found(data)
        if self.options.send:
            raise Failed(
                "Replies go to your gateway (settings.yml, sms: reply: send), so none can be shown "
                "here. Set 'reply: response' to try it, or open /sms-simulator."
            )
        if not self.options.webhook:
            raise Failed("settings.yml, sms: there is no webhook. Add 'secret' or 'hmac'.")

    def send(self, number: str, text: str) -> str:
        """The reply to a text. Raises `Failed` if the server does not take it."""
        request = urllib.request.Request(self.address, *self.call(number, text))
        try:
            with urllib.request.urlopen(request, timeout=60) as response:
                body: str = response.read().decode("utf-8", "replace")
                return body
        except urllib.error.HTTPError as error:
            raise Failed(refusal(error.code)) from None
        except OSError:
            raise Failed(
                f"No server answers at {self.address}. Start it with 'lidwise run', or name its "
                "address with --url."
            ) from None

    def call(self, number: str, text: str) -> tuple[bytes, dict[str, str]]:
        """Body and headers of the gateway's call, with the secret and the signature as set."""
        o = self.options
        told: dict[str, Any] = {}
        put(told, o.fields.sender, number)
        put(told, o.fields.text, text)
        for name in o.fields.id:
            put(told, name, uuid.uuid4().hex)
        headers = {"content-type": "application/json"}
        if o.secret and o.secret.where == "field":
            put(told, o.secret.name, o.secret.value)
        elif o.secret:
            headers[o.secret.name] = o.secret.value
        body = json.dumps(told).encode()
        if o.signature:
            s = o.signature
            made = hmac.new(s.key.encode(), body, getattr(hashlib, s.algorithm)).digest()
            spelt = made.hex() if s.encoding == "hex" else base64.b64encode(made).decode()
            headers[s.header] = s.prefix + spelt
        return body, headers


def put(told: dict[str, Any], name: str, value: str) -> None:
    """Put a value where a dotted name leads, unless something is there already."""
    *way, last = name.split(".")
    for step in way:
        told = told.setdefault(step, {})
    told.setdefault(last, value)


def found(data: Path) -> Options:
    """The settings of the running server: those of the data folder, or the demo's."""
    options = opts.read(settings.load(data))
    if options is not None:
        return options
    if not (data / KEY).exists():
        raise Failed(f"No server has run with {data} yet. Start one with 'lidwise run'.")
    return opts.for_demo(Numbers(data).demo_secret())


def refusal(status: int) -> str:
    """What to do about a refused call."""
    if status == 403:
        return "The server knows another secret. Give --data-dir the folder it runs with."
    if status == 404:
        return "This server takes no text messages. README.md tells how to switch that on."
    return f"The server did not take the text (status {status}). Its log says why."


def shown(reply: str) -> str:
    """A reply as a phone would show it, and what it takes on its way."""
    if not reply:
        return "  (no reply)"
    units, sizes = sms.widths(reply)
    number = sms.parts(reply)
    alphabet = "" if sizes == sms.GSM else ", UCS-2"
    parts = "1 message" if number == 1 else f"{number} parts"
    return f"  {reply}\n  [{sum(units)} characters, {parts}{alphabet}]"


def talk(gateway: Gateway, number: str, texts: list[str], say: Callable[[str], None]) -> None:
    """Send texts, those given or those typed, and show each reply."""
    if texts:
        for text in texts:
            say(f"> {text}")
            say(shown(gateway.send(number, text)))
        return
    asking = sys.stdin.isatty()
    if asking:
        say(HELP)
    while True:
        try:
            text = input("> " if asking else "")
        except (EOFError, KeyboardInterrupt):
            say("")
            return
        if not asking:
            say(f"> {text}")
        say(shown(gateway.send(number, text)))
