"""What the tests of the language ask of a reader, without the framework."""

from __future__ import annotations

from typing import Any

from actions.understanding import Understanding, from_message
from bot.language.reader import Reader
from bot.language.report import entities

FRAMES = (
    "where does the go",
    "which bin does this go in",
    "what bin for",
    "can I recycle",
    "where do I put old",
    "what do I do with a",
    "how do I get rid of",
    "is it ok to put in the recycling",
    "do go in with the cardboard",
    "and what about",
    "please help me",
    "hello, I have got some from my house",
    "I want to throw away my",
    "does it matter that",
    "where should these go",
    "are they rubbish",
    "we have a broken in the shed",
    "I found in the garage",
    "can it be collected",
    "thanks",
    "is there a place that takes",
    "tell me what to do about this",
    "need to bin",
    "which container takes",
    "just wondering if can be recycled",
    "my neighbour says no",
    "or does this go somewhere else",
)
"""What questions are made of, the thing left out: what training learns from examples."""


def items(reader: Reader, text: str) -> list[str]:
    """The items and marks of a message, in order."""
    found = reader.read(text)
    named = sorted([*found.of("item"), *found.marks], key=lambda f: f.first)
    return [f.target.id for f in named]


def reported(reader: Reader, text: str) -> list[dict[str, Any]]:
    """A message's entities."""
    return entities(reader.read(text), reader.context, text)


def understood(reader: Reader, text: str) -> Understanding:
    """A message as the dialogue gets it, without an intent."""
    return from_message({"text": text, "entities": reported(reader, text)})


def told(reader: Reader, text: str) -> list[tuple[str | None, dict[str, str]]]:
    """The things of a message with what is said of each."""
    return [(n.item, dict(n.facts)) for n in understood(reader, text).things]


def dangers(reader: Reader, text: str) -> list[str]:
    """The words of a message that tell of a danger happening now."""
    return [said for _, said in understood(reader, text).dangers]
