"""Sends replies by the gateway's send address, again and again until it takes them.

Numbers wait sealed in the store and are gone with the message. A message that the gateway took but
whose success was lost on the way is sent again; `{ref}` lets a gateway see that.
"""

from __future__ import annotations

import asyncio
import json
import logging
import time

import aiohttp

from bot.sms.fill import filled
from bot.sms.numbers import Numbers
from bot.sms.options import Send
from bot.sms.store import Store, Unsent

logger = logging.getLogger(__name__)

REFUSED = frozenset({"status 400", "status 404", "status 410", "status 422"})
"""What no further try would change. Later messages of the same person need not wait for it."""
LONGEST_WAIT = 600.0
"""Seconds between two attempts at most."""


class Outbox:
    """The worker. What is put into the store's outbox is sent soon after `wake`."""

    def __init__(self, send: Send, numbers: Numbers, store: Store) -> None:
        self.send, self.numbers, self.store = send, numbers, store
        self.news = asyncio.Event()
        self.given_up = 0

    def wake(self) -> None:
        """Say that there is something to send."""
        self.news.set()

    async def run(self) -> None:
        """Send for ever."""
        timeout = aiohttp.ClientTimeout(total=self.send.timeout)
        async with aiohttp.ClientSession(timeout=timeout) as session:
            while True:
                try:
                    await self.round(session)
                except Exception as error:
                    logger.error("The outbox stumbled: %s.", type(error).__name__)
                    await asyncio.sleep(5)

    async def round(self, session: aiohttp.ClientSession) -> None:
        """Send what is due; wait for news or for the next message's time if nothing is."""
        self.news.clear()
        due = self.store.due(time.time())
        if due:
            await asyncio.gather(*(self.attempt(session, unsent) for unsent in due))
            return
        following = self.store.next_due()
        wait = None if following is None else max(0.05, following - time.time())
        try:
            await asyncio.wait_for(self.news.wait(), wait)
        except asyncio.TimeoutError:
            return

    async def attempt(self, session: aiohttp.ClientSession, unsent: Unsent) -> None:
        """Send one message, and put it off or give it up if the gateway does not take it."""
        words = self.numbers.unseal(unsent.sealed)
        if words is None:
            logger.error("A message to send was sealed under another key and is given up.")
            self.give_up(unsent)
            return
        trouble = await self.post(session, {**words, "ref": unsent.ref})
        if not trouble:
            self.store.gone(unsent)
            return
        attempts = unsent.attempts + 1
        if attempts >= self.send.attempts or trouble in REFUSED:
            logger.error(
                "The gateway did not take a message in %d attempts: %s.", attempts, trouble
            )
            self.give_up(unsent)
            return
        wait = min(LONGEST_WAIT, self.send.wait * 2 ** (attempts - 1))
        logger.warning("The gateway did not take a message: %s. Again in %.0f s.", trouble, wait)
        self.store.later(unsent, time.time() + wait)

    def give_up(self, unsent: Unsent) -> None:
        """Drop a message; `/health` counts these."""
        self.store.gone(unsent)
        self.given_up += 1

    async def post(self, session: aiohttp.ClientSession, words: dict[str, str]) -> str:
        """What went wrong with a call, empty if nothing; never with an address, which may hold a
        number."""
        fields = filled(self.send.fields, words)
        flat = {
            k: v if isinstance(v, str) else json.dumps(v, ensure_ascii=False)
            for k, v in fields.items()
        }
        body = {"query": {"params": flat}, "form": {"data": flat}, "json": {"json": fields}}
        try:
            async with session.request(
                self.send.method,
                self.send.url,
                headers=dict(self.send.headers),
                allow_redirects=False,
                **body[self.send.form],
            ) as response:
                await response.read()
                return "" if 200 <= response.status < 300 else f"status {response.status}"
        except asyncio.TimeoutError:
            return "no answer in time"
        except (aiohttp.ClientError, OSError, ValueError) as error:
            return type(error).__name__
