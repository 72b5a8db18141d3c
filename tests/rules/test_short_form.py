"""The short form of every answer and question, pure, without the framework: two parts at most, in
the GSM 7-bit alphabet (3GPP TS 23.038), counted by PyPI smsutil, an independent splitter."""

from __future__ import annotations

import random
import re
from datetime import date
from itertools import product

import pytest
import smsutil

from actions import fitting
from actions.reply import Answered, Asked, Reply
from actions.short import question, short_answer, text_message
from actions.state import Thing
from rules import Decision, Question, decide, live_danger, load, sms, unknown

BOOK = load()
DAY = date(2026, 12, 1)


def parts(text: str) -> int:
    """Parts as smsutil counts them; a text outside the alphabet is a fault by itself."""
    split = smsutil.split(text)
    assert split.encoding == "gsm0338", text
    return len(split.parts)


def replies(item, district, day):
    """The reply for every combination of what the item's table asks, and each of its questions."""
    table = item.table_for(district) if district else item.table
    answers = [dict(zip(table.ask, c, strict=True)) for c in product(*table.ask.values())]
    for facts in [{}, *answers]:
        thing = Thing(item.id, item.name, day.isoformat(), district, facts)
        found = decide(BOOK, district, day, item.id, facts)
        if isinstance(found, Question):
            for again in (False, True):
                asked = Asked(thing, found.condition, found.values, again)
                yield Reply("question", (Answered(thing, None),), asked, district=district, on=day)
        else:
            kind = "emergency" if found.destination == "emergency" else "answer"
            yield Reply(kind, (Answered(thing, found),), district=district, on=day)


@pytest.mark.parametrize("district", [*BOOK.districts, None])
def test_every_answer_and_question_fits(district):
    done, lone = set(), 0
    for item in BOOK.items.values():
        for day in BOOK.turning_days():
            for reply in replies(item, district, day):
                text = text_message(BOOK, reply)
                if text in done:
                    continue
                done.add(text)
                number = parts(text)
                assert number <= 2, (item.id, text)
                lone += number == 1
                decision = reply.items[0].decision
                if decision and reply.kind == "answer":
                    if decision.caution:
                        assert fitting.plain(decision.caution) in text
                    assert f": {goes(decision)}" in text, text
                if reply.asks:
                    for n in range(1, len(reply.asks.values) + 1):
                        assert re.search(rf"\b{n} ", text)
    assert len(done) > 600
    assert lone / len(done) > 0.85


def goes(decision):
    """Where it goes, as the rules word it."""
    place = BOOK.destinations[decision.destination]
    named = decision.container if place.kind in ("bin", "bag") else None
    return fitting.plain(named or place.short)


def test_one_message_where_it_can_be():
    """What must be said fits in one message, so nothing that may be left out makes it two."""
    for item in BOOK.items.values():
        found = decide(BOOK, "oxmere", DAY, item.id, {})
        if isinstance(found, Decision) and not found.caution and not item.hazard:
            text = short_answer(BOOK, Answered(Thing(item.id, item.name, str(DAY)), found))
            assert sms.parts(text) == 1 or len(text.split(". ")[0]) > 100, text


def test_several_things_fit_and_no_caution_is_dropped():
    chance = random.Random(160)
    names = list(BOOK.items)
    shortened = 0
    for _ in range(1500):
        items, asks = [], None
        for name in chance.sample(names, chance.choice((2, 3, 5, 9))):
            thing = Thing(name, name, str(DAY), "oxmere")
            found = decide(BOOK, "oxmere", DAY, name, {})
            if isinstance(found, Question):
                items.append(Answered(thing, None))
                again = chance.random() < 0.5
                asks = asks or Asked(thing, found.condition, found.values, again)
            elif found.destination != "emergency":
                items.append(Answered(thing, found))
        reply = Reply("question" if asks else "answer", tuple(items), asks, on=DAY)
        text = text_message(BOOK, reply)
        assert parts(text) <= 2, text
        if asks:
            assert fitting.plain(question(BOOK, asks)) in text or asks.again
        left = "Text each by itself." in text
        shortened += left
        for answered in items:
            if answered.decision is None:
                continue
            book_name = BOOK.items[answered.decision.item].name
            shown = re.search(re.escape(fitting.plain(book_name)) + r"[:,]", text, re.I)
            assert shown or left, (book_name, text)
            if answered.decision.caution and shown and f"{book_name}: ".lower() in text.lower():
                assert fitting.sentences(fitting.plain(answered.decision.caution))[0] in text
    assert 100 < shortened < 1400


@pytest.mark.parametrize("kind", [None, *BOOK.dangers])
def test_emergency_begins_with_the_call_and_fits(kind):
    decision = live_danger(BOOK, None, kind)
    thing = Thing(None, "my scooter " * 30, str(DAY))
    text = text_message(BOOK, Reply("emergency", (Answered(thing, decision),)))
    assert text.startswith("CALL 999 NOW.")
    assert parts(text) <= 2
    steps = [s for s in decision.prepare if not s.startswith("Call 999")]
    assert all(fitting.plain(s) in text for s in steps)


@pytest.mark.parametrize(
    "said",
    [
        "didgeridoo",
        "jalapeño crème brûlée dish – “vintage”",
        "śliwka w słoiku",
        "диджериду",
        "ディジュリドゥ",
        "🎸 guitar 🎸",
        "a very long winded description of some strange thing from the loft " * 5,
        "x" * 300,
        "[[[]]]~~~^^^" * 20,
        "\u0301\u200b",
        "",
    ],
)
def test_residents_words_never_make_a_message_longer_than_two_parts(said):
    thing = Thing(None, said, str(DAY), "oxmere")
    found = Answered(thing, unknown(BOOK, "oxmere", DAY, None))
    text = text_message(BOOK, Reply("cautious", (found,), district="oxmere", on=DAY))
    assert parts(text) <= 2
    assert "maroon bin (careful answer)" in text


def test_what_was_asked_for_is_worth_a_second_message():
    found = decide(BOOK, "oxmere", DAY, "camera", {})
    assert isinstance(found, Decision) and found.why
    thing = Thing("camera", "camera", str(DAY), "oxmere")
    text = text_message(BOOK, Reply("answer", (Answered(thing, found),), focus="ask_why", on=DAY))
    assert fitting.sentences(fitting.plain(found.why))[0] in text


def test_no_word_is_cut():
    words = "Recycling centres are open every day of the week except for Christmas Day"
    text = fitting.as_far_as_fits([" ".join([words] * 12)], "More: the web page")
    assert parts(text) <= 2
    assert text.endswith("... More: the web page")
    assert set(text.removesuffix("... More: the web page").split()) <= set((words).split())


@pytest.mark.parametrize("room", [0, 3, 4, 10, 40, 159, 160, 306])
def test_clipped_text_is_whole_words_within_the_room(room):
    text = "paint tins, brushes and a {half} full tub of € filler " * 8
    kept = fitting.clip(text.strip(), room)
    assert sms.septets(kept) <= room
    assert not kept or set(kept.removesuffix("...").split()) <= {
        w.rstrip(",") for w in text.split()
    } | set(text.split())


@pytest.mark.parametrize(
    ("text", "plainly"),
    [
        ("‘Don’t’ – “no” … ok", "'Don't' - \"no\" ... ok"),
        ("café, naïve, Zürich", "café, naive, Zürich"),
        ("20 °C, ½ full, 5 µg", "20 degC, 1/2 full, 5 ug"),
        ("a\u00a0b\nc", "a b c"),
        ("£3 or €3", "£3 or €3"),
    ],
)
def test_plain_letters(text, plainly):
    assert fitting.plain(text) == plainly
    assert sms.outside(fitting.plain(text)) == ""


def centres(number):
    chosen = list(BOOK.centres.values())[:number]
    told = [
        ("centre", {"name": c.name, "address": c.address, "hours": ". ".join(c.hours)})
        for c in chosen
    ]
    return chosen, text_message(BOOK, Reply("information", parts=tuple(told), on=DAY))


def test_hours_are_told_where_they_fit_for_all():
    chosen, text = centres(2)
    assert parts(text) <= 2
    assert all(c.address in text and c.hours[0] in text for c in chosen)
    chosen, text = centres(len(BOOK.centres))
    assert parts(text) <= 2
    assert chosen[0].address in text and chosen[0].hours[0] not in text
    assert text.endswith("More: https://www.merrowdale.example or 01632 960118")


def test_every_text_of_the_book_fits_by_itself():
    """Topics, changes, and what goes in each container."""
    told = [("topic", {"short": t.short}) for t in (*BOOK.topics.values(), *BOOK.changes.values())]
    for stream in BOOK.streams.values():
        told.append(("container", {"name": "bin", "takes": stream.takes}))
        told.append(("fate", {"stream": stream.name, "becomes": stream.becomes}))
    for part in told:
        text = text_message(BOOK, Reply("information", parts=(part,), on=DAY))
        assert parts(text) <= 2
        assert "More: " not in text
    text = text_message(BOOK, Reply("information", parts=tuple(told), on=DAY))
    assert parts(text) <= 2 and "More: " in text
