"""Answers that are not about one thing: containers, changes, places, the tag, small talk."""

from __future__ import annotations

from typing import TYPE_CHECKING

from actions.intents import SURE
from actions.reply import Reply
from actions.state import State
from actions.understanding import Understanding
from rules.model import Book, Stream

if TYPE_CHECKING:
    from actions.turn import Turn

NEAR = 0.86
"""Likeness to a topic's example question above which it is taken for that question."""
CLOSE = 0.62
"""Likeness that picks the topic among those an intent allows."""

TOPIC_OF = {
    "ask_tag": "bin_tag",
    "ask_never": "never_in_bin",
    "ask_capabilities": "what_can_you_do",
    "ask_source": "who_made_rules",
}
CHAT = {"greet": "greeting", "thank": "thanks", "goodbye": "goodbye", "mood": "mood"}
ANSWERS = frozenset(
    {*TOPIC_OF, "ask_container_contents", "ask_what_happens", "ask_changes", "ask_places"}
)


def answer(turn: Turn) -> Reply | None:
    """The reply to a question that is not about a thing, or nothing."""
    u, book = turn.u, turn.book
    near = best_topic(book, u, NEAR)
    if near:
        return topic(turn, near)
    if u.confidence < 0.35:
        return None
    if u.intent == "ask_prepare" and not u.things:
        close = best_topic(book, u, CLOSE)
        return topic(turn, close) if close else None
    if u.intent in CHAT:
        return turn.made("small_talk", parts=((CHAT[u.intent], {}),))
    if u.intent == "repeat_or_confused":
        return turn.made("unclear", parts=(("unclear", {}),))
    if u.intent == "ask_container_contents" or (u.containers and u.intent == "ask_destination"):
        return contents(turn)
    if u.intent == "ask_what_happens":
        return fate(turn)
    if u.intent == "ask_changes":
        return changes(turn)
    if u.intent == "ask_places":
        return places(turn)
    if u.intent in TOPIC_OF and TOPIC_OF[u.intent] in book.topics:
        return topic(turn, TOPIC_OF[u.intent])
    if u.intent == "referral":
        return referral(turn, u)
    return None


def other(turn: Turn) -> tuple[State, Reply] | None:
    """Containers, changes, places and so on; and small talk."""
    made = answer(turn)
    return (turn.state, made) if made else None


def tag(turn: Turn) -> tuple[State, Reply] | None:
    """The tag on a bin, which is a thing too: what it means, unless it is to be thrown away."""
    thrown_away = "riddance" in turn.u.manners or " put " in f" {turn.u.text.lower()} "
    known = TOPIC_OF["ask_tag"] in turn.book.topics
    if turn.u.intent == "ask_tag" and turn.u.confidence > SURE and known and not thrown_away:
        return turn.state, topic(turn, TOPIC_OF["ask_tag"])
    return None


def informs(turn: Turn) -> bool:
    """Whether the message asks for something that is not about a thing."""
    return turn.u.confidence > SURE and turn.u.intent in ANSWERS


def best_topic(book: Book, u: Understanding, at_least: float) -> str | None:
    """The topic nearest to the message, if near enough."""
    return next((t for t, score in u.topics if score >= at_least and t in book.topics), None)


def topic(turn: Turn, name: str) -> Reply:
    """A topic's own answer."""
    told = turn.book.topics[name]
    kind = "referral" if told.referral else "information"
    return turn.made(kind, parts=(("topic", {"long": told.answer, "short": told.short}),))


def referral(turn: Turn, u: Understanding) -> Reply:
    """What the contact centre deals with: the topic nearest to it, or just how to reach it."""
    for name, score in u.topics:
        told = turn.book.topics.get(name)
        if told and told.referral and score >= CLOSE:
            return topic(turn, name)
    return turn.made("referral", parts=(("contact", {}),))


def contents(turn: Turn) -> Reply | None:
    """What goes in a named container, in the district if known, else wherever it is called so."""
    book, u = turn.book, turn.u
    named = [(c, d) for c, d in u.containers]
    if turn.district:
        named = [(c, d) for c, d in named if d == turn.district] or named
    parts = []
    for code, district in named[:1]:
        parts += [
            ("container", fill(book, code, d, turn))
            for d in (
                [district] if turn.district == district else districts_with(turn, code, named)
            )
        ]
    parts = [p for p in parts if p[1]]
    if not parts:
        if not turn.district:
            return turn.made("information", parts=(("containers_in_general", {}),))
        parts = [
            ("container", fill(book, c.code, turn.district, turn))
            for c in book.districts[turn.district].containers
            if c.period.holds(turn.on)
        ]
    unique = {p[1].get("name", ""): p for p in parts if p[1]}
    return turn.made("information", parts=tuple(unique.values()))


def districts_with(turn: Turn, code: str, named: list[tuple[str, str]]) -> list[str]:
    """Districts in which a container is called so, only the resident's own if it is known."""
    return list(dict.fromkeys(d for c, d in named if c == code and d))


def fill(book: Book, code: str, district: str, turn: Turn) -> dict[str, str]:
    """The words for one container: its name, what goes in and what does not."""
    day = max(turn.on, book.scheme.starts)
    for c in book.districts[district].containers:
        if c.code == code and c.period.holds(day):
            streams = [book.streams[s] for s, p in c.takes if p.holds(day)]
            return {
                "name": c.name,
                "district": book.districts[district].name,
                "takes": " ".join(s.takes for s in streams),
                "refuses": " ".join(f"Not in it: {lower_first(s.refuses)}" for s in streams[:1]),
            }
    return {}


def lower_first(text: str) -> str:
    """A sentence's text for use after a colon."""
    return text[:1].lower() + text[1:]


def fate(turn: Turn) -> Reply:
    """What becomes of what is collected: one stream's if a container is named, else all."""
    book = turn.book
    near = best_topic(book, turn.u, CLOSE)
    if near and not turn.u.containers:
        return topic(turn, near)
    streams: list[Stream] = []
    for code, district in turn.u.containers:
        if turn.district in (None, district):
            for c in book.districts[district].containers:
                if c.code == code:
                    streams += [book.streams[s] for s, _ in c.takes]
    chosen = list({s.id: s for s in streams}.values()) or [
        book.streams[s]
        for s in ("card", "containers", "food", "garden", "residual")
        if s in book.streams
    ]
    return turn.made(
        "information",
        parts=tuple(
            ("fate", {"stream": s.name.capitalize(), "becomes": s.becomes}) for s in chosen
        ),
    )


def changes(turn: Turn) -> Reply:
    """What changes from the day asked about, in the district if it is known."""
    book = turn.book
    coming = [
        c
        for c in sorted(book.changes.values(), key=lambda c: c.on)
        if (turn.district is None or turn.district in c.districts) and c.on >= turn.on
    ]
    if not coming:
        return turn.made("information", parts=(("no_change", {}),))
    return turn.made(
        "information",
        parts=tuple(("topic", {"long": c.answer, "short": c.short}) for c in coming),
    )


def places(turn: Turn) -> Reply:
    """The recycling centres: one that is named, else those of the district, else all."""
    book = turn.book
    named = [book.centres[c] for c in turn.u.centres]
    near = named or [c for c in book.centres.values() if c.district == turn.district]
    chosen = near or list(book.centres.values())
    lead = "centres_near" if near and not named else "centres_lead"
    parts = [(lead, {"county": book.scheme.county, "number": str(len(book.centres))})]
    parts += [
        (
            "centre",
            {
                "name": c.name,
                "address": c.address,
                "hours": ". ".join(c.hours),
                "note": c.note or "",
            },
        )
        for c in chosen
    ]
    return turn.made("information", parts=tuple(parts))
