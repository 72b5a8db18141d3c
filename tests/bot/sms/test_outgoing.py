"""Texts that an agent sends to a caller go by the outbox, and not to who said STOP."""

from __future__ import annotations

import asyncio
import time
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from bot.panel.texting import NotSent
from bot.sms.numbers import Numbers
from bot.sms.options import Options
from bot.sms.outgoing import Outgoing
from bot.sms.store import Store

NUMBER = "07700900123"


@pytest.fixture
def parts(tmp_path: Path) -> SimpleNamespace:
    numbers = Numbers(tmp_path)
    woken: list[bool] = []
    return SimpleNamespace(
        store=Store(tmp_path / "sms.db"),
        options=Options(sender="60118"),
        desk=SimpleNamespace(numbers=numbers),
        outbox=SimpleNamespace(wake=lambda: woken.append(True)),
        woken=woken,
        folder=tmp_path,
    )


def test_waits_sealed_in_the_outbox(parts):
    asyncio.run(Outgoing(parts).send(NUMBER, "Kettle: recycling centre – cable and all."))
    (unsent,) = parts.store.due(time.time())
    words = parts.desk.numbers.unseal(unsent.sealed)
    text = "Kettle: recycling centre - cable and all."
    assert words == {"to": "+447700900123", "from": "60118", "text": text}
    assert parts.woken == [True]
    kept = b"".join(p.read_bytes() for p in parts.folder.iterdir())
    assert NUMBER.encode() not in kept and b"7700900123" not in kept


def test_who_said_stop_gets_none(parts):
    name = parts.desk.numbers.name("+44 7700 900123")
    texter = parts.store.texter(name)
    parts.store.remember(replace(texter, stopped=True, seen=time.time()))
    with pytest.raises(NotSent, match="STOP"):
        asyncio.run(Outgoing(parts).send(NUMBER, "Kettle: recycling centre."))
    assert parts.store.waiting() == 0


def test_more_than_two_parts_are_not_sent(parts):
    with pytest.raises(NotSent, match="too long"):
        asyncio.run(Outgoing(parts).send(NUMBER, "kettle " * 50))
    assert parts.store.waiting() == 0


def test_what_is_no_number_gets_none(parts):
    with pytest.raises(NotSent, match="no phone number"):
        asyncio.run(Outgoing(parts).send("12", "Kettle: recycling centre."))
    assert parts.store.waiting() == 0
