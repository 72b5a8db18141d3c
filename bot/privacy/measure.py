"""How much the masking misses and how much it damages: `python -m bot.privacy.measure`.

(a) Messages are made from `messages.yml` and invented people of the package `faker` (British names,
addresses, numbers), in several spellings, with slips. A kind is found if none of its words is left
in the masked text. (b) Messages without people, written for training and tests, count what is
masked wrongly. Needs the packages for development.
"""

from __future__ import annotations

import json
import random
import re
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import yaml

from bot import paths
from bot.privacy.mask import findings, masked

SEED = 2711
PER_TEMPLATE = 40
"""Messages made of each template."""
ELSEWHERE = ("en_IN", "pl_PL", "ro_RO")
SPELLINGS = ("as it should be", "small letters", "with slips")


@dataclass(frozen=True, slots=True)
class Made:
    """A message and what was put into it, as kind and words."""

    set: str
    spelling: str
    text: str
    told: tuple[tuple[str, str], ...]


def messages() -> dict[str, list[str]]:
    """The templates and things of `messages.yml`."""
    path = paths.PROJECT / "bot" / "privacy" / "messages.yml"
    told: dict[str, list[str]] = yaml.safe_load(path.read_text(encoding="utf-8"))
    return told


class People:
    """Invented people, spelt as people type. The phone numbers are those kept for drama."""

    def __init__(self, seed: int, names: str = "en_GB") -> None:
        from faker import Faker

        self.fake, self.names = Faker("en_GB"), Faker(names)
        self.fake.seed_instance(seed)
        self.names.seed_instance(seed)
        self.chance = random.Random(seed)

    def piece(self, what: str) -> tuple[str, str]:
        """Words for a place of a template, and their kind."""
        f, n = self.fake, self.names
        street = f.street_name()
        number = f"{self.chance.randint(1, 180)}{self.chance.choice(['', '', '', 'a', 'B'])}"
        return {
            "name": ("name", f"{n.first_name()} {n.last_name()}"),
            "given": ("name", n.first_name()),
            "family": ("name", n.last_name()),
            "phone": ("phone", self.phone()),
            "email": ("email", f"{f.user_name()}@{f.safe_domain_name()}"),
            "postcode": ("postcode", self.postcode()),
            "house": ("house number", f"{number} {street}"),
            "number": ("house number", number),
            "street": ("", street),
        }[what]

    def phone(self) -> str:
        """A number kept for drama, in one of the ways people write one."""
        tail = f"{self.chance.randint(0, 999):03d}"
        return self.chance.choice(
            [
                f"07700 900{tail}",
                f"07700900{tail}",
                f"07700-900-{tail}",
                f"0770 0900 {tail}",
                f"07 700 900 {tail}",
                f"+44 7700 900{tail}",
                f"+44 (0)7700 900{tail}",
                f"01632 960{tail}",
                f"01632960{tail}",
                f"(01632) 960 {tail}",
            ]
        )

    def postcode(self) -> str:
        """A postcode, sometimes without its space or with two."""
        code: str = self.fake.postcode()
        return code.replace(" ", self.chance.choice([" ", " ", "", "  "]))

    def fill(self, template: str, thing: str) -> tuple[str, list[tuple[str, str]]]:
        """A template with people in it, and what was put in."""
        told: list[tuple[str, str]] = []

        def put(match: re.Match[str]) -> str:
            if match[1] == "thing":
                return thing
            kind, words = self.piece(match[1])
            if kind:
                told.append((kind, words))
            return words

        return re.sub(r"\{(\w+)\}", put, template), told

    def slip(self, text: str, spared: list[str]) -> str:
        """The text in small letters with a slip in some of its own words, not in the people's."""
        parts = re.split("(" + "|".join(map(re.escape, spared)) + ")", text) if spared else [text]
        for at in range(0, len(parts), 2):
            words = parts[at].split(" ")
            for n, word in enumerate(words):
                if len(word) > 4 and self.chance.random() < 0.25:
                    k = self.chance.randrange(1, len(word) - 2)
                    words[n] = word[:k] + word[k + 1] + word[k] + word[k + 2 :]
            parts[at] = " ".join(words)
        return "".join(parts).lower()


def made(seed: int = SEED, each: int = PER_TEMPLATE, names: str = "en_GB") -> Iterator[Made]:
    """The messages, the same for the same seed; `names` is where the people's names come from."""
    told = messages()
    people = People(seed, names)
    for kind in ("tuned", "unseen"):
        for template in told[kind]:
            for count in range(each):
                thing = people.chance.choice(told["things"])
                text, pieces = people.fill(template, thing)
                spelling = SPELLINGS[count % len(SPELLINGS)]
                if spelling != SPELLINGS[0]:
                    pieces = [(k, w.lower()) for k, w in pieces]
                    text = text.lower()
                if spelling == SPELLINGS[2]:
                    text = people.slip(text, [w for _, w in pieces])
                yield Made(kind, spelling, " ".join(text.split("\n")), tuple(pieces))


def missed(message: Made) -> list[tuple[str, str]]:
    """What is left of the people in the masked message; of an address the number counts."""
    left = []
    rest = re.sub(r"\[(?:name|phone|email|postcode|house number)\]", "\0", masked(message.text))
    for kind, words in message.told:
        parts = [words.split()[0]] if kind == "house number" else [words]
        if kind == "name":
            parts = words.split()
        if any(re.search(rf"(?<!\w){re.escape(p)}(?!\w)", rest) for p in parts):
            left.append((kind, words))
    return left


def without_people() -> dict[str, list[str]]:
    """The messages of training and tests, by where they stand."""
    sets: dict[str, list[str]] = {"nlu_data": [], "looked_at": [], "unseen": [], "unrelated": []}
    for path in sorted(paths.TRAINING.glob("*.yml")):
        for part in (yaml.safe_load(path.read_text(encoding="utf-8")) or {}).get("nlu") or []:
            lines = str(part.get("examples") or "").splitlines()
            sets["nlu_data"] += [re.sub(r"\[([^]]*)\]\([^)]*\)", r"\1", x[2:]) for x in lines if x]
    things = (paths.TRAINING / "things.txt").read_text(encoding="utf-8").splitlines()
    sets["nlu_data"] += [re.sub(r"\[([^]]*)\]\([^)]*\)", r"\1", x) for x in things if x]
    held = paths.TRAINING / "heldout"
    for name in ("looked_at", "unseen"):
        for line in (held / f"{name}.jsonl").read_text(encoding="utf-8").splitlines():
            sets[name] += [t["say"] for t in json.loads(line)["turns"]]
    for path in sorted(held.glob("unrelated_*.txt")):
        sets["unrelated"] += path.read_text(encoding="utf-8").splitlines()
    return sets


def recall(messages: list[Made]) -> dict[tuple[str, str, str], tuple[int, int]]:
    """By set, spelling and kind: how many were put in, and how many are masked."""
    there: Counter[tuple[str, str, str]] = Counter()
    left: Counter[tuple[str, str, str]] = Counter()
    for message in messages:
        there.update((message.set, message.spelling, kind) for kind, _ in message.told)
        left.update((message.set, message.spelling, kind) for kind, _ in missed(message))
    return {k: (n, n - left[k]) for k, n in there.items()}


def show(say: Any, wrong: bool) -> None:
    """Print the tables; with `wrong` also what is missed of `tuned` and masked wrongly, but
    nothing of the sets that are kept unseen."""
    every = list(made())
    masked("pizza box")
    found = recall(every)
    kinds = ("name", "phone", "email", "postcode", "house number")
    say("masked, of what was put in")
    say(f"{'set':8}{'spelling':18}" + "".join(f"{k:>22}" for k in kinds))
    for name in ("tuned", "unseen"):
        for spelling in SPELLINGS:
            cells = [found.get((name, spelling, k), (0, 0)) for k in kinds]
            shown = [f"{b}/{a} {100 * b / a:5.1f}%" if a else "-" for a, b in cells]
            say(f"{name:8}{spelling:18}" + "".join(f"{c:>22}" for c in shown))
    say("\nnames that come from elsewhere, in the messages kept unseen")
    for place in ELSEWHERE:
        others = recall([m for m in made(names=place) if m.set == "unseen"])
        cells = [others[("unseen", s, "name")] for s in SPELLINGS]
        shown = [f"{b}/{a} {100 * b / a:5.1f}%" for a, b in cells]
        say(f"{place:8}" + "".join(f"{s}: {c}   " for s, c in zip(SPELLINGS, shown, strict=True)))
    say("\nmasks in messages that name nobody, by kind, and messages with one per 1,000")
    spent, count = 0.0, 0
    for name, texts in without_people().items():
        began = time.perf_counter()
        hits = [(t, findings(t)) for t in texts]
        spent, count = spent + time.perf_counter() - began, count + len(texts)
        per = Counter(f.kind for _, fs in hits for f in fs)
        share = 1000 * sum(bool(fs) for _, fs in hits) / len(texts)
        say(f"{name:10}{len(texts):7} messages {share:6.1f}   {dict(per)}")
        if wrong and name in ("nlu_data", "looked_at"):
            for text, fs in hits:
                for f in fs:
                    say(f"    {f.kind}: {text[f.start : f.end]!r} in {text[:110]!r}")
    say(f"\n{1e6 * spent / count:.0f} microseconds a message")
    if wrong:
        for message in every:
            if message.set == "tuned":
                for kind, words in missed(message):
                    say(f"    missed {kind}: {words!r} in {masked(message.text)!r}")


if __name__ == "__main__":
    show(print, "--wrong" in sys.argv)
