"""A message sent again is answered once; the limits of what is kept."""

from __future__ import annotations

import asyncio
import json
import sqlite3
import threading
from contextlib import closing

import pytest

from bot.access.throttle import Budget
from bot.channels.incoming import read
from bot.channels.once import Once


def run(coroutine):
    return asyncio.new_event_loop().run_until_complete(coroutine)


class Counted:
    """Something that is done, and how often it was."""

    def __init__(self, result="done", wait: float = 0.0) -> None:
        self.result, self.wait, self.times = result, wait, 0

    async def __call__(self):
        self.times += 1
        await asyncio.sleep(self.wait)
        if isinstance(self.result, Exception):
            raise self.result
        return self.result


def test_second_asker_gets_the_first_result_even_while_it_is_made():
    async def both():
        once, do = Once(), Counted(wait=0.05)
        found = await asyncio.gather(once.get("a", do), once.get("a", do))
        return found, await once.get("a", do), await once.get("b", do), do.times

    assert run(both()) == (["done", "done"], "done", "done", 2)


def test_asker_who_leaves_does_not_stop_the_work():
    async def leave():
        once, do = Once(), Counted(wait=0.05)
        asker = asyncio.ensure_future(once.get("a", do))
        await asyncio.sleep(0.01)
        asker.cancel()
        return await once.get("a", do), do.times

    assert run(leave()) == ("done", 1)


@pytest.mark.parametrize("result", [None, ValueError("no")])
def test_what_failed_is_done_again(result):
    async def twice():
        once, do = Once(), Counted(result)
        for _ in range(2):
            try:
                assert await once.get("a", do) is None
            except ValueError:
                assert isinstance(result, ValueError)
            await asyncio.sleep(0)
        return do.times, once.done

    assert run(twice()) == (2, {})


def test_results_are_kept_for_a_time_and_in_a_number():
    async def many():
        now = [0.0]
        once, do = Once(keep=10, most=3, clock=lambda: now[0]), Counted()
        for key in "abcd":
            await once.get(key, do)
        kept = list(once.done)
        now[0] = 11.0
        await once.get("d", do)
        return kept, do.times, list(once.done)

    assert run(many()) == (["b", "c", "d"], 5, ["d"])


def test_budget_counts_each_name_by_itself():
    now = [0.0]
    budget = Budget(2, 10, now=lambda: now[0])
    assert [budget.wait(name) for name in "aab"] == [0, 0, 0]
    assert budget.wait("a") == 10
    now[0] = 4.0
    assert budget.wait("a") == 6
    now[0] = 10.0
    assert budget.wait("a") == 0


@pytest.mark.parametrize("wrong", ["", 7, ["x"], "x" * 65])
def test_id_that_cannot_be_one_is_passed_over(wrong):
    body = {"sender": "s", "message": "m", "metadata": {"message_id": wrong, "on": "2027-01-01"}}
    found = read(json.dumps(body).encode())
    assert found.message_id is None and found.metadata == {"on": "2027-01-01"}


def events(running, sender: str) -> list[str]:
    with closing(sqlite3.connect(running.data / "conversations.db")) as store:
        rows = store.execute(
            "SELECT data FROM events WHERE sender_id = ? AND type_name = 'user' ORDER BY id",
            (sender,),
        ).fetchall()
    return [json.loads(data)["text"] for (data,) in rows]


def test_message_sent_again_gets_the_same_reply_and_is_no_second_message(site, running):
    first = site.say("pizza box", "again-1", district="oxmere", message_id="m1")
    assert site.say("pizza box", "again-1", district="oxmere", message_id="m1") == first
    site.say("pizza box", "again-1", district="oxmere", message_id="m2")
    site.say("pizza box", "again-2", district="oxmere", message_id="m1")
    assert events(running, "again-1") == ["pizza box", "pizza box"]
    assert events(running, "again-2") == ["pizza box"]


def test_message_that_comes_twice_at_once_is_answered_once(site, running):
    found = []
    threads = [
        threading.Thread(
            target=lambda: found.append(site.say("used tissues", "race-1", message_id="m1"))
        )
        for _ in range(6)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 6 and all(reply == found[0] for reply in found)
    assert events(running, "race-1") == ["used tissues"]


def test_messages_without_an_id_are_each_answered(site, running):
    for _ in range(2):
        site.say("used tissues", "plain-1")
    assert len(events(running, "plain-1")) == 2
