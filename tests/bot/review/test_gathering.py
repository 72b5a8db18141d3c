"""What comes into the review list, and from where."""

from __future__ import annotations

import pytest

from bot.record.entry import TABLE
from bot.remarks import Remarks
from bot.review.gather import gather
from tests.bot.review.rows import NOW, keep, left, row, thing, unknown


def gathered(data, *rows, remarks=()):
    record = keep(data, *rows)
    kept = Remarks(data / "remarks.db")
    for remark in remarks:
        kept.add(**remark)
    return gather(record, kept.all(), NOW)


def test_unknown_thing_with_all_that_is_known_of_it(tmp_path):
    (found,) = gathered(tmp_path, unknown("my theremin", channel="sms", demo=True))
    assert (found.whys, found.said, found.channel) == (("unknown",), "my theremin", "sms")
    assert found.demo and found.item is None and found.sign is None
    assert (found.question, found.day) == ("where does my theremin go", "2026-11-20")


def test_hazard_sign_that_decided_is_read_from_the_rule(tmp_path):
    (found,) = gathered(
        tmp_path, unknown("a theremin", rule="dangers.yml: powered", goes="recycling_centre")
    )
    assert found.sign == "powered"


def test_only_the_things_at_fault_of_a_message(tmp_path):
    known = thing("mug", "a mug", "reuse")
    strange = thing(None, "a theremin", "residual")
    other = thing(None, "a zither", "residual")
    found = gathered(
        tmp_path, row("a mug, a theremin and a zither", "unknown", known, strange, other)
    )
    assert [e.said for e in found] == ["a theremin", "a zither"]
    assert len({e.id for e in found}) == 2


def test_open_condition_and_unclear_message(tmp_path):
    paint = thing("paint", "paint tin", "recycling_centre", unsettled=["contents"])
    one, two = gathered(tmp_path, row("paint tin", "unsettled", paint), row("wot", "unclear"))
    assert (one.item, one.condition, one.whys) == ("paint", "contents", ("unsettled",))
    assert (two.said, two.item, two.whys) == ("wot", None, ("unclear",))


def test_nothing_of_the_officers_own_trials_or_of_what_was_forgotten(tmp_path):
    gone = unknown("a theremin", at="2026-11-20", conversation=None, turn=None)
    gone["question"], gone["items"][0]["asked_as"] = None, ""
    trial = [
        unknown("a theremin", channel="preview"),
        left("paint", "contents", "x", channel="preview"),
    ]
    assert gathered(tmp_path, gone, *trial) == []


def test_conversation_that_ended_at_a_question(tmp_path):
    (found,) = gathered(tmp_path, left("paint", "contents", "old paint"))
    assert (found.whys, found.item, found.condition) == (("unanswered",), "paint", "contents")
    assert found.said == "old paint"


@pytest.mark.parametrize(
    ("at", "after", "there"),
    [
        ("2026-11-29T17:30:00+00:00", None, False),  # half an hour ago: an answer may come
        ("2026-11-29T16:00:00+00:00", None, True),
        ("2026-11-29T16:00:00+00:00", "2026-11-29T16:01:00+00:00", False),  # went on
        ("2026-08-01T10:00:00+00:00", None, False),  # longer ago than is looked
    ],
)
def test_when_a_question_counts_as_left(tmp_path, at, after, there):
    rows = [left("paint", "contents", "paint", at=at, conversation="c")]
    if after:
        answer = thing("paint", "paint", "residual")
        rows.append(row("dried hard", None, answer, at=after, conversation="c"))
    assert bool(gathered(tmp_path, *rows)) == there


def test_remarks_that_find_fault(tmp_path):
    reply = {"items": [{"item": "duvet", "asked_as": "duvets", "destination": "residual"}]}
    about = {"channel": "webchat", "conversation": "c", "question": "duvets", "reply": reply}
    found = gathered(
        tmp_path,
        remarks=[
            {"kind": "right", "turn": "1", **about},
            {"kind": "wrong", "turn": "2", "note": "it is reuse", **about},
            {
                "kind": "missing",
                "channel": "panel",
                "conversation": "p",
                "question": "",
                "note": "looms",
            },
        ],
    )
    assert [(e.whys, e.item, e.said) for e in found] == [
        (("wrong",), "duvet", "duvets"),
        (("missing",), None, "looms"),
    ]
    assert found[0].note == "it is reuse" and found[0].destination == "residual"


def test_remark_on_a_turn_that_is_here_joins_it(tmp_path):
    turn = unknown("my theremin", conversation="c", turn="t", demo=True)
    remark = {"kind": "wrong", "channel": "webchat", "conversation": "c", "turn": "t"}
    (found,) = gathered(tmp_path, turn, remarks=[{"question": "my theremin", **remark}])
    assert found.whys == ("unknown", "wrong")


def test_remark_on_another_turn_is_told_from_the_record(tmp_path):
    turn = row("duvets", None, thing("duvet", "duvets", "residual", rule="r"), conversation="c")
    turn = {**turn, "turn": "t", "demo": True, "kind": "answer"}
    remark = {"kind": "wrong", "channel": "webchat", "conversation": "c", "turn": "t"}
    (found,) = gathered(tmp_path, turn, remarks=[{"question": "duvets", **remark}])
    assert found.demo and found.rule == "r" and found.book == "abcdef123456"


def test_order_is_by_time(tmp_path):
    late, early = "2026-11-21T10:00:00+00:00", "2026-11-19T10:00:00+00:00"
    found = gathered(tmp_path, unknown("b", at=late), unknown("a", at=early))
    assert [e.said for e in found] == ["a", "b"]


def test_reads_only_what_the_record_has(tmp_path):
    record = keep(tmp_path)
    assert gather(record, [], NOW) == []
    assert {"fault", "asks", "conversation"} <= set(TABLE.c.keys())
