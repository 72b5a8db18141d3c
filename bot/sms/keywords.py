"""Whole messages that are commands, and the ways to say a number.

The words, upper or lower case, are common practice of text message services, no source. Each counts
only as the whole message: "help my battery is smoking" is none.
"""

from __future__ import annotations

import re

STOP = frozenset({"stop", "stopall", "stop all", "unsubscribe", "cancel", "end", "quit"})
START = frozenset({"start", "unstop"})
HELP = frozenset({"help", "info"})

NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth")
SAID = {
    **{word: str(n) for n, word in enumerate(NUMBERS, 1)},
    **{word: str(n) for n, word in enumerate(ORDINALS, 1)},
    **{f"{n}{end}": str(n) for n in range(1, 10) for end in ("st", "nd", "rd", "th")},
}
CHOICE = re.compile(
    r"(?:(?:i|it) (?:mean|is|was|choose|pick) |its )?(?:the (?!one$))?"
    r"(?:reply|option|number|no|answer|choice|opt|nr|#)? ?"
    r"([1-9]|" + "|".join(sorted(SAID, key=len, reverse=True)) + r")"
    r"(?: (?:one|option|choice|answer))?(?: (?:please|pls|plz|thanks|thank you|ta|x|xx))?"
)


def bare(text: str) -> str:
    """A message in small letters without marks around its words."""
    return " ".join(re.sub(r"[^\w#]+", " ", text.lower()).split())


def command(text: str) -> str:
    """`stop`, `start` or `help` if that is all a message says, else nothing."""
    said = bare(text)
    for name, words in (("stop", STOP), ("start", START), ("help", HELP)):
        if said in words:
            return name
    return ""


def choice(text: str) -> str:
    """The number that is all a message says ("option 2", "the 2nd one"), else the message."""
    found = CHOICE.fullmatch(bare(text))
    if not found:
        return text
    return SAID.get(found[1], found[1])
