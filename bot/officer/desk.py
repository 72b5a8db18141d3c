"""What the pages about changes share: the store, the judge, and work off the event loop."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any, TypeVar

from sanic import Sanic
from sanic.request import Request

from bot.changes.judging import Judge
from bot.changes.store import Changes
from bot.officer.shell import TEMPLATES

Result = TypeVar("Result")

THREADS = ThreadPoolExecutor(4, thread_name_prefix="officer")
"""Threads of their own: those that wait for a proof must not keep the rule book from its own."""


PROOFS = ThreadPoolExecutor(1, thread_name_prefix="proof")


def sentence(text: str) -> str:
    """A text with a full stop, unless it ends a sentence already."""
    return text if text[-1:] in ".?!" else f"{text}."


TEMPLATES.filters["sentence"] = sentence


def changes_of(app: Sanic) -> Changes:
    """The proposed changes."""
    if not hasattr(app.ctx, "changes"):
        app.ctx.changes = Changes(app.ctx.data, app.ctx.rules)
    return app.ctx.changes  # type: ignore[no-any-return]


def judge_of(app: Sanic) -> Judge:
    """What judges them."""
    if not hasattr(app.ctx, "judge"):
        app.ctx.judge = Judge(changes_of(app), app.ctx.agent, apart=True)
    return app.ctx.judge  # type: ignore[no-any-return]


async def judged(work: Callable[..., Result], *arguments: Any) -> Result:
    """The same for what waits for a proof: one after another, beside all else."""
    return await asyncio.get_running_loop().run_in_executor(PROOFS, partial(work, *arguments))


async def aside(work: Callable[..., Result], *arguments: Any, **more: Any) -> Result:
    """Do something slow in a thread, while messages are answered."""
    loop = asyncio.get_running_loop()
    return await loop.run_in_executor(THREADS, partial(work, *arguments, **more))


def field(request: Request, name: str, most: int = 200_000) -> str:
    """A field of a form, with plain line ends."""
    value = (request.form or {}).get(name)
    text = value if isinstance(value, str) else ""
    return text.replace("\r\n", "\n")[:most]
