"""How a conversation begins: what is asked, and in which words."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from pathlib import PurePath

from bot.traffic.days import factor
from bot.traffic.oracle import Meant
from bot.traffic.persons import Person
from bot.traffic.phrases import Want, bare, known, read, unknown
from rules.model import Book

SORTS = {"known": 68, "unknown": 14, "service": 6, "information": 6, "off topic": 4, "danger": 1}
"""The share of each sort of conversation, of which changes of the season come on top: an
assumption, no source."""
CHANGES = {"tarnside_change": 0.9, "film_change": 0.7}
"""The weight of questions about a change when it is far off; the season multiplies it."""
NAMES_BIN = {True: 0.5, False: 0.15}
"""The share of questions that name a container, where many are sure of one and elsewhere."""
PAIR = 0.07
"""The share of questions about two things at once."""
STALE = 30
"""Days around a change in which people name containers of before and after it."""

NO_AGENT = ("service", "off topic", "danger")
"""Sorts that a contact centre's agent does not type."""


def sort(rng: random.Random, person: Person, day: date) -> str:
    """What sort of conversation it is."""
    shares = {s: float(w) for s, w in SORTS.items()}
    for change, weight in CHANGES.items():
        if change != "tarnside_change" or person.district == "tarnside":
            shares[change] = weight * factor(change, day)
    if person.channel == "panel":
        shares = {s: w for s, w in shares.items() if s not in NO_AGENT}
    return rng.choices(list(shares), list(shares.values()))[0]


def want(rng: random.Random, day: date, things: Sequence[Want]) -> Want:
    """A thing to ask about, as often as its weight and the season say."""
    return rng.choices(things, [w.weight * factor(w.season, day) for w in things])[0]


def thing(rng: random.Random, book: Book, day: date, of: str) -> tuple[Meant, dict[str, str], str]:
    """What is meant, what is the case (said or not), and the person's words for it."""
    found = want(rng, day, unknown() if of == "unknown" else known())
    case = {c: rng.choice(values) for c, values in found.facts}
    if found.item:
        section = PurePath(book.items[found.item].where.file).stem
        made_of = read("replies")["made_of"].get(section)
        case = {**({"material": made_of} if made_of else {}), **case}
    return Meant(of, found), case, rng.choice(found.say)


def question(
    rng: random.Random, person: Person, book: Book, day: date, meant: Meant, words: str
) -> str:
    """A question about a thing, in the person's manner."""
    frames = read("frames")
    fill = {"thing": words, "bare": bare(words)}
    found = meant.want
    assert found is not None
    named = bin_named(rng, book, person, found.wrong or "residual", day)
    if named and rng.random() < NAMES_BIN[found.belief]:
        manner = "notes_wrong_bin" if person.manner == "notes" else "wrong_bin"
        return str(rng.choice(frames[manner])).format(**fill, bin=named)
    return str(rng.choice(frames[person.manner])).format(**fill)


def second(rng: random.Random, person: Person, day: date, first: Meant) -> tuple[Meant, str] | None:
    """Another thing that some ask about in the same breath: one that needs nothing asked."""
    if person.channel == "panel" or first.sort != "known" or rng.random() >= PAIR:
        return None
    simple = [w for w in known() if not w.facts and w is not first.want]
    found = want(rng, day, simple)
    return Meant("known", found), rng.choice(found.say)


def both(rng: random.Random, one: str, two: str) -> str:
    """A question about two things."""
    return str(rng.choice(read("frames")["pair"])).format(one=one, two=two)


def next_question(rng: random.Random, words: str) -> str:
    """A question about a thing after another one."""
    return str(rng.choice(read("frames")["next"])).format(thing=words)


def bin_named(rng: random.Random, book: Book, person: Person, stream: str, day: date) -> str | None:
    """What a person calls the container of a stream; near a change, also the other one's name."""
    near = [d for d in book.turning_days() if abs((d - day).days) <= STALE]
    days = [day, day, day, *near, *(d - timedelta(days=1) for d in near)]
    container = book.container(person.district, stream, rng.choice(days))
    if container is None:
        return None
    return rng.choice((container.name, *container.also))


def states(rng: random.Random, meant: Meant, case: dict[str, str], text: str) -> str:
    """The question with what some say of the thing unasked; what was said is noted."""
    found = meant.want
    assert found is not None
    told = read("frames")["told"]
    if found.states and rng.random() < 0.3:
        words, facts = rng.choice(found.states)
        meant.facts.update(facts)
        return str(rng.choice(told)).format(question=text, said=words)
    sayable = [c for c, _ in found.facts if case[c] in read("replies")["replies"].get(c, {})]
    if sayable and rng.random() < 0.28:
        condition = sayable[0]
        meant.facts[condition] = case[condition]
        words = rng.choice(read("replies")["replies"][condition][case[condition]])
        return str(rng.choice(told)).format(question=text, said=words)
    return text


def personal(rng: random.Random, text: str) -> str:
    """The question with personal data that nobody asked for. All of it is invented."""
    small = read("small")
    pick: Callable[[str], str] = lambda name: str(rng.choice(small[name]))  # noqa: E731
    first, last = pick("first_names"), pick("surnames")
    number = f"{rng.randrange(1000):03d}"
    phone = rng.choice((f"07700 900{number}", f"07700900{number}", f"01632 960{number}"))
    return pick("personal").format(
        question=text,
        name=rng.choice((first, f"{first} {last}", f"Mrs {last}")),
        phone=phone,
        mail=f"{first}.{last}@example.com".lower(),
        address=f"{rng.randrange(1, 140)} {pick('streets')}",
        postcode=pick("postcodes"),
    )


def other(rng: random.Random, person: Person, book: Book, day: date, of: str) -> tuple[Meant, str]:
    """What is meant by a message that is not about one thing, and its words."""
    small = read("small")
    if of in CHANGES:
        return Meant("information"), str(rng.choice(small[of]))
    lists = {"service": "services", "off topic": "off_topic"}
    text = str(rng.choice(small[lists.get(of, of)]))
    if "{bin}" in text:
        text = text.format(bin=bin_named(rng, book, person, rng.choice(STREAMS), day))
    return Meant(of), text


STREAMS = ("card", "containers", "food", "garden", "residual")
"""Streams with a container in every district, whatever it is called there."""
