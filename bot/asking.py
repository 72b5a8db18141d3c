"""One question in the terminal, and the question that may come back."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping

from bot.assistant import Assistant, answer_of, text_of
from bot.channels.incoming import clean


def answer_one(
    assistant: Assistant,
    question: str,
    metadata: Mapping[str, str],
    as_json: bool,
    say: Callable[[str], None],
) -> None:
    """Answer a question. At a terminal, whoever sits there can answer what is asked back."""
    sender = "terminal"
    messages = assistant.say(clean(question), sender, **metadata)
    if as_json:
        say(json.dumps(answer_of(messages), ensure_ascii=False, indent=1))
        return
    say(text_of(messages))
    while answer_of(messages)["asks"] and sys.stdin.isatty():
        labels = [option["label"] for option in answer_of(messages)["asks"]["options"]]
        for number, label in enumerate(labels, 1):
            say(f"  {number} {label}")
        try:
            reply = input("> ").strip()
        except (EOFError, KeyboardInterrupt):
            say("")
            return
        if not reply:
            return
        if reply.isdecimal() and 0 < int(reply) <= len(labels):
            reply = labels[int(reply) - 1]
        messages = assistant.say(clean(reply), sender, **metadata)
        say(text_of(messages))
