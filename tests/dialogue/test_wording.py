"""What a person reads: text messages in two parts, short sentences."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from typing import Any

import pytest
import yaml
from talking import BOOK, DAY, NUMBER, Talk, goes

from actions.phrases import FILE
from rules import sms
from rules.model import Book

# Text messages

SAMPLE = random.Random(3).sample(sorted(i for i, x in BOOK.items.items() if not x.mark), 200)


@pytest.mark.parametrize("share", range(8))
def test_text_messages_are_short_and_plain(share: int, say: Any) -> None:
    """Two parts at most, in the GSM alphabet (3GPP TS 23.038): question, reply and answer."""
    wrong = []
    chance = random.Random(share)
    for item in SAMPLE[share::8]:
        meta = {
            "district": chance.choice(list(BOOK.districts)),
            "on": chance.choice([DAY, "2027-04-05"]),
            "channel": "sms",
        }
        sender = f"sms-{next(NUMBER)}"
        answer = say(BOOK.items[item].name, sender, **meta)
        said = [answer["text"]]
        for _ in range(4):
            if answer["kind"] != "question":
                break
            reply = str(chance.randint(1, len(answer["asks"]["options"])))
            answer = say(reply, sender, **meta)
            said.append(answer["text"])
        assert answer["kind"] in ("answer", "emergency", "cautious"), (item, said)
        for text in said:
            if sms.parts(text) > 2 or sms.outside(text):
                wrong.append((item, sms.parts(text), sms.outside(text), text))
    assert not wrong


@pytest.mark.parametrize(
    "message",
    [
        "hello",
        "thanks",
        "what is the weather",
        "sdkfj",
        "you missed my bin",
        "a didgeridoo",
        "my battery is smoking",
        "what goes in the teal bin",
        "where is the tip",
        "what can you do",
        "what is the tag on my bin",
        "what happens to general waste",
        "what changes in april",
    ],
)
def test_other_text_messages(message: str, talk: Talk) -> None:
    text = talk(message, channel="sms")["text"]
    assert sms.outside(text) == ""
    assert sms.parts(text) <= 2, text


def test_text_message_offers_numbers(talk: Talk) -> None:
    text = talk("pizza box", channel="sms")["text"]
    assert "1 From a takeaway, 2 Cooked at home" in text
    assert goes(talk("1", channel="sms")) == {"pizza_box": "residual"}


# Wording

AVERAGE = 15
LONGEST = 30
"""Words in a sentence: what public-sector plain-English practice asks for (from memory)."""


def book_texts(book: Book) -> Iterator[tuple[str, str | None]]:
    """Every text of the book that residents read, with what it belongs to."""
    for item in book.items.values():
        for table in (item.table, *item.overrides.values()):
            for part in (table, *table.rows):
                for text in (*(part.prepare or ()), part.why, part.caution):
                    yield item.id, text
            yield item.id, table.because
    for condition in book.conditions.values():
        for text in (condition.question, condition.again, condition.short):
            yield condition.id, text
        for value in condition.values.values():
            yield condition.id, value.label
    for danger in book.dangers.values():
        for text in (danger.never, danger.emergency, *danger.prepare):
            yield danger.id, text
    for sign in book.signs.values():
        yield from ((sign.id, sign.why), (sign.id, sign.caution))
    for topic in (*book.topics.values(), *book.changes.values()):
        yield from ((topic.id, topic.answer), (topic.id, topic.short))
    for stream in book.streams.values():
        yield from ((stream.id, x) for x in (stream.takes, stream.refuses, stream.becomes))
    for centre in book.centres.values():
        yield centre.id, centre.note
    yield "fallback", book.fallback.why
    for text in book.fallback.prepare:
        yield "fallback", text


def own_texts() -> Iterator[tuple[str, str]]:
    """Every sentence of the assistant's own."""
    for name, forms in yaml.safe_load(FILE.read_text(encoding="utf-8")).items():
        for form, text in forms.items():
            yield f"{name}.{form}", text


def sentences(text: str) -> list[list[str]]:
    """The words of each sentence. A placeholder counts as one word."""
    parts = re.split(r"(?<=[.!?])\s+", text)
    words = [re.findall(r"[\w'’{}/-]+", p) for p in parts]
    return [w for w in words if len(w) > 1]


@pytest.mark.parametrize(
    ("texts", "least"),
    [(list(book_texts(BOOK)), 1_000), (list(own_texts()), 50)],
    ids=["book", "own"],
)
def test_sentences_are_short(texts: list[tuple[str, str | None]], least: int) -> None:
    found = {(" ".join(s), where) for where, text in texts if text for s in sentences(text)}
    lengths = [len(s.split()) for s, _ in found]
    assert len(found) >= least
    assert sum(lengths) / len(lengths) <= AVERAGE
    long = [(where, s) for s, where in found if len(s.split()) > LONGEST]
    assert not long


@pytest.mark.parametrize("item", SAMPLE[:40])
def test_whole_answers_are_short_too(item: str, say: Any) -> None:
    """Sentences as they come out, with names and phrases filled in."""
    text = say(BOOK.items[item].name, f"plain-{item}", district="oxmere", on=DAY)["text"]
    lengths = [len(s) for s in sentences(text)]
    assert sum(lengths) / len(lengths) <= AVERAGE, text
    assert max(lengths) <= LONGEST, text
    assert "{" not in text and "None" not in text
