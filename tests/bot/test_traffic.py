"""`lidwise demo-traffic` beside a running assistant, on the same data folder."""

from __future__ import annotations

import threading

from bot.record.store import Record
from bot.remarks import Remarks
from tests.bot.conftest import Running, Site, lidwise


def test_demo_traffic_comes_and_goes_while_the_assistant_runs(running: Running, site: Site) -> None:
    where = ("--data-dir", running.data, "--rules", running.rules)
    period = ("--from", "2027-01-20", "--to", "2027-02-10")
    ran: list[str] = []
    failed: list[str] = []

    def simulate() -> None:
        result = lidwise("demo-traffic", "--people", "8", *period, "--truth", *where)
        ran.append(result.stdout)
        failed.append(result.stderr if result.returncode else "")

    simulating = threading.Thread(target=simulate)
    simulating.start()
    live = 0
    while simulating.is_alive():
        answer = site.answer("pizza box", "beside-traffic", channel="webchat", district="oxmere")
        assert answer["kind"] == "question"
        live += 1
        simulating.join(0.5)
    assert failed == [""]
    assert "8 simulated residents" in ran[0] and "right of answered" in ran[0]

    record = Record(running.data)
    mine = record.of("beside-traffic")
    assert len(mine) == live and not any(e.demo for e in mine)
    demo = [e for e in record.latest(10_000) if e.demo]
    assert len({e.conversation for e in demo}) == 8
    assert {e.book for e in demo} == {mine[0].book}

    gone = lidwise("demo-traffic", "--remove", "--data-dir", running.data)
    assert f"8 conversations with {len(demo)} answers" in gone.stdout
    assert record.of("beside-traffic") == mine
    assert not any(e.demo for e in record.latest(10_000))
    assert not any(r.demo for r in Remarks(running.data / "remarks.db").all())
    assert site.answer("kettle", district="oxmere")["kind"] == "answer"
