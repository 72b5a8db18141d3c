"""What is decided of a group holds, and when a group comes back."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest

from bot.processes import Failed
from bot.remarks import Remarks
from bot.review.gather import gather
from bot.review.known import known_to
from bot.review.listing import LATER, MORE, Filter, grouped, wanted
from bot.review.store import Store
from rules.edit import add_name
from rules.loader import load_texts, read_files
from tests.bot.review.rows import keep, left, row, thing, unknown


def data(board):
    return board.rules.parent / "data"


def asked(board, said, times, **more):
    keep(data(board), *(unknown(said, **more) for _ in range(times)))


def test_groups_count_and_come_most_asked_first(board, titles):
    asked(board, "my gran's old theremin", 1)
    asked(board, "a zither", 3)
    asked(board, "theremins", 1)
    groups = wanted(board.groups(), Filter())
    assert [(g.title, g.asked) for g in groups] == [("zither", 3), ("theremin", 2)]


def test_dismissed_stays_away_and_says_why(board, titles):
    asked(board, "a theremin", 2)
    board.decide(titles()["theremin"], "dismissed", "officer", "A joke.")
    group = titles()["theremin"]
    assert (group.state, group.decision.because, group.decision.by) == (
        "dismissed",
        "A joke.",
        "officer",
    )
    assert wanted(board.groups(), Filter()) == []


def test_reason_is_asked_for(board, titles):
    asked(board, "a theremin", 1)
    with pytest.raises(ValueError, match="Say why"):
        board.decide(titles()["theremin"], "dismissed", "officer", "  ")
    with pytest.raises(ValueError, match="300 characters"):
        board.decide(titles()["theremin"], "dismissed", "officer", "x" * 301)
    with pytest.raises(ValueError, match="no state"):
        board.decide(titles()["theremin"], "burnt", "officer", "x")
    assert titles()["theremin"].state == "open"


@pytest.mark.parametrize("before", [1, 2, MORE + 3])
def test_dismissed_comes_back_once_it_has_grown_a_lot(board, titles, before):
    asked(board, "a theremin", before)
    board.decide(titles()["theremin"], "dismissed", "officer", "A joke.")
    more = max(MORE, before)
    asked(board, "two theremins", more - 1)
    assert titles()["theremin"].state == "dismissed"
    asked(board, "the theremin", 1)
    group = titles()["theremin"]
    assert group.state == "open" and f"{more} times more" in group.note


def test_put_off_comes_back_after_its_time(board, known, titles):
    asked(board, "a theremin", 1)
    board.decide(titles()["theremin"], "later", "officer")
    assert titles()["theremin"].state == "later"
    for days, state in ((LATER.days - 1, "later"), (LATER.days + 1, "open")):
        then = datetime.now(timezone.utc) + timedelta(days=days)
        entries = gather(board.record, [], then)
        (group,) = grouped(entries, board.store, known, board.state_of, then)
        assert group.state == state


def test_reopened_is_open(board, titles):
    asked(board, "a theremin", 1)
    board.decide(titles()["theremin"], "dismissed", "officer", "A joke.")
    board.decide(titles()["theremin"], "reopened", "other")
    assert titles()["theremin"].state == "open"
    (key,) = {g.key for g in board.groups()}
    assert [(d.state, d.by) for d in board.store.history(key)] == [
        ("dismissed", "officer"),
        ("reopened", "other"),
    ]


def test_decision_holds_though_its_own_questions_were_forgotten(board, titles):
    asked(board, "an electric fence energiser", 1)
    first = titles()["electric fence energiser"]
    board.decide(first, "dismissed", "officer", "Farms' waste.")
    with board.record.engine.begin() as connection:
        connection.exec_driver_sql("DELETE FROM answers")
        # As if the group's keys had been lost with them.
    asked(board, "energizers for electric fences", 1)
    (group,) = board.groups()
    assert (group.key, group.state) == (first.key, "dismissed")


def test_key_stays_though_the_first_words_are_gone(board, titles):
    asked(board, "a weather vane", 1)
    asked(board, "weathervanes", 1)
    (before,) = board.groups()
    with board.record.engine.begin() as connection:
        connection.exec_driver_sql("DELETE FROM answers WHERE id = 1")
    (after,) = board.groups()
    assert after.key == before.key and after.asked == 1


def test_store_keeps_no_words_of_what_nothing_was_decided_of(board):
    asked(board, "a theremin of Zebedee's", 1)
    board.groups()
    kept = b"".join(p.read_bytes() for p in data(board).glob("review.db*"))
    assert len(board.store.keys()) == 1
    assert b"theremin" not in kept.lower() and b"zebedee" not in kept.lower()


def test_words_known_by_now_are_mended(board, known, titles):
    asked(board, "my theremin", 2)
    asked(board, "theremin stand", 1)
    texts = read_files(board.rules)
    changed = load_texts({**texts, **add_name(texts, "duvet", "theremin")})
    board.known = lambda: known_to(changed)
    try:
        groups = titles()
        assert groups["theremin"].state == "mended"
        assert set(groups["theremin"].mended.values()) == {"duvet"}
        assert groups["theremin stand"].state == "open"
        assert [g.title for g in wanted(board.groups(), Filter())] == ["theremin stand"]
    finally:
        board.known = lambda: known


def test_known_words_that_failed_with_this_very_book_are_not_mended(board, known):
    keep(data(board), unknown("a duvet"), unknown("the duvets", book=known.book.version))
    (group,) = board.groups()
    assert (group.state, group.asked) == ("open", 1)
    assert group.entries[0].said == "the duvets" and "known by now" in group.note


def test_answers_while_a_book_came_into_force_do_not_tell_against_it(board, known, monkeypatch):
    since = datetime(2026, 11, 20, 10, 0, tzinfo=timezone.utc)
    monkeypatch.setattr(board, "in_force_since", lambda version: since)
    keep(data(board), unknown("a duvet", book=known.book.version))
    (group,) = board.groups()
    assert group.state == "mended"
    late = "2026-11-20T10:02:00+00:00"
    keep(data(board), unknown("a duvet", book=known.book.version, at=late))
    assert board.group(group.key).state == "open"


def test_message_not_understood_is_mended_by_the_change_that_was_made_for_it(board, monkeypatch):
    keep(data(board), row("duvet", "unclear"))
    (group,) = board.groups()
    board.decide(group, "accepted", "officer", change="20261129-abcdef")
    monkeypatch.setattr(board, "state_of", lambda change: "applied")
    assert board.group(group.key).state == "mended"
    keep(data(board), row("duvets", "unclear", at="2099-01-01T10:00:00+00:00"))
    assert board.group(group.key).state == "open"


def test_message_not_understood_is_not_mended_by_known_words_alone(board):
    keep(data(board), row("duvet", "unclear"))
    (group,) = board.groups()
    assert group.state == "open"


def test_open_questions_and_remarks_go_by_the_rule(board, titles):
    paint = thing("paint", "paint tin", "recycling_centre", unsettled=["contents"])
    keep(
        data(board),
        row("paint tin", "unsettled", paint, conversation="u"),
        left("paint", "contents", "old paint"),
    )
    remark = {"channel": "webchat", "conversation": "c", "question": "paint"}
    reply = {"items": [{"item": "paint", "asked_as": "paint", "destination": "reuse"}]}
    Remarks(data(board) / "remarks.db").add("wrong", reply=reply, **remark)
    groups = {g.key: g for g in board.groups()}
    assert set(groups) == {"question-paint-contents", "item-paint"}
    assert dict(groups["question-paint-contents"].whys) == {"unsettled": 1, "unanswered": 1}
    assert groups["item-paint"].hazard


def test_hazard_is_flagged_by_record_and_by_words(board, titles):
    asked(board, "a theremin", 1)
    asked(board, "a zither", 1, rule="dangers.yml: powered", goes="recycling_centre")
    keep(data(board), unknown("a sextant", "where does a sextant full of acid go"))
    asked(board, "a loom", 5)
    signs = {t: g.sign for t, g in titles().items()}
    assert signs == {"theremin": None, "zither": "powered", "sextant": "corrosive", "loom": None}
    ordered = [g.title for g in wanted(board.groups(), Filter(order="hazards"))]
    assert set(ordered[:2]) == {"zither", "sextant"} and ordered[2] == "loom"


def test_filters(board):
    asked(board, "a theremin", 2, channel="sms", district="oxmere")
    asked(board, "a theremin", 1, at="2026-11-10T10:00:00+00:00", district=None)
    asked(board, "a zither", 1, demo=True)

    def found(**wish):
        return {g.title: g.asked for g in wanted(board.groups(), Filter(**wish))}

    assert found(channel="sms") == {"theremin": 2}
    assert found(district="none") == {"theremin": 1}
    assert found(end=datetime(2026, 11, 10).date()) == {"theremin": 1}
    assert found(start=datetime(2026, 11, 11).date()) == {"theremin": 2, "zither": 1}
    assert found(why="unclear") == {} and found(state="mended") == {}
    assert [g.demo for g in wanted(board.groups(), Filter())] == [False, True]


def test_group_that_is_not_there(board):
    with pytest.raises(Failed, match="nothing to look at"):
        board.group("words-0000000000")


def test_decisions_of_two_at_once_are_both_kept(tmp_path):
    one, two = Store(tmp_path), Store(tmp_path)
    one.decide("k", "later", by="a", asked=1)
    two.decide("k", "dismissed", by="b", asked=1, because="x")
    one.keep({"d": "k1"})
    two.keep({"d": "k2", "e": "k3"})
    assert [d.by for d in one.history("k")] == ["a", "b"]
    assert one.latest()["k"].state == "dismissed"
    assert one.keys() == {"d": "k1", "e": "k3"}
