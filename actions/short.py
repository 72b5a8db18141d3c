"""The short form of a reply: one text message where possible, never more than two.

First a danger and every caution, then where each thing goes and the question, then how to get it
ready, what it holds for and why, as far as they fit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from actions.fitting import (
    MAY,
    MOST,
    MUST,
    SHOULD,
    Piece,
    as_far_as_fits,
    clip,
    fit,
    length,
    plain,
    sentences,
)
from actions.phrases import (
    ask_text,
    assumptions,
    capital,
    contact,
    filled,
    name_of,
    phrase,
    wording,
)
from actions.reply import Answered, Asked, Reply, options
from actions.state import Thing
from rules import Decision
from rules.model import Book

NAME = 40
"""Septets of a thing's name in the resident's words."""
LEFT_OUT = 80
"""Septets of the sentence that names what was left out."""


def text_message(book: Book, reply: Reply) -> str:
    """The words of a reply for a text message, in the GSM 7-bit alphabet."""
    said = worded(book, reply)
    if reply.asks and reply.asks.again and length([said]) > MOST:
        return worded(book, replace(reply, asks=replace(reply.asks, again=False)))
    return said


def worded(book: Book, reply: Reply) -> str:
    """The words of a reply; the question that is put again may be too long for its longer form."""
    if reply.kind == "emergency":
        return emergency(reply)
    decided = [a for a in reply.items if a.decision]
    asked = question(book, reply.asks) if reply.asks else ""
    closing = [plain(t) for t in [*parts(book, reply, "short"), asked] if t]
    if length(closing) > MOST:
        closing = [plain(t) for t in [*parts(book, reply, "brief"), asked] if t]
    if not decided:
        more = wording()["more"]["short"].format(**contact(book))
        return as_far_as_fits(closing, more)
    if len(decided) == 1:
        whole = fit([*answer(book, decided[0], reply.focus), *(Piece(t) for t in closing)])
        if length([whole]) <= MOST:
            return whole
    return several(book, decided, closing)


def parts(book: Book, reply: Reply, form: str) -> list[str]:
    """What a reply tells beside its things, in a form; where a wording has not that, the short."""
    out = []
    for key, fill in reply.parts:
        forms = wording()[key]
        out.append(forms.get(form, forms["short"]).format(**filled(book, fill)).strip())
    return out


def short_answer(book: Book, answered: Answered) -> str:
    """One thing's answer by itself. What must be said is said even where it does not fit, so that
    the check of the rule book finds it."""
    return fit(answer(book, answered))


def answer(book: Book, answered: Answered, focus: str = "") -> list[Piece]:
    """One thing's answer in sentences, each with how much it matters."""
    decision = answered.decision
    assert decision is not None
    hazard = bool(decision.item and book.items[decision.item].hazard)
    why = SHOULD if focus == "ask_why" else MAY
    careful = focus != "ask_why" and (hazard or decision.caution)
    ready = SHOULD if focus == "ask_prepare" or careful else MAY
    pieces = [Piece(lead(book, answered)), Piece(decision.caution or "")]
    if book.destinations[decision.destination].kind == "service":
        pieces.append(Piece(wording()["answer"]["service"].format(**contact(book)), SHOULD))
    if focus == "ask_what_happens" and decision.stream:
        pieces.append(Piece(book.streams[decision.stream].becomes, SHOULD))
    pieces += [Piece(step, ready) for step in decision.prepare]
    if decision.alternatives:
        other = book.destinations[decision.alternatives[0]].short
        pieces.append(Piece(f"Or: {other}.", MAY))
    return [*pieces, *(Piece(s, why, "why") for s in sentences(decision.why or ""))]


def lead(book: Book, answered: Answered) -> str:
    """What a thing is called and where it goes."""
    decision = answered.decision
    assert decision is not None
    return f"{called(book, answered)}: {where(book, decision, holds=True)}."


def called(book: Book, answered: Answered) -> str:
    """A thing's name, or the resident's words for it in plain letters and not too many."""
    name = name_of(book, answered)
    if answered.decision and answered.decision.item:
        return capital(name)
    return capital(clip(plain(name), NAME)) or "That"


def where(book: Book, decision: Decision, holds: bool) -> str:
    """Where a thing goes in the fewest words, whether that is the careful answer, and if asked for,
    what it holds for."""
    there = phrase(book, decision, short=True)
    if decision.unsettled or decision.item is None:
        there += " (careful answer)"
    assumed = assumptions(book, decision) if holds else ""
    return f"{there}, if {assumed}" if assumed else there


def several(book: Book, decided: Sequence[Answered], closing: Sequence[str]) -> str:
    """Answers of several things. Those that go to the same place share a sentence; a thing is left
    out whole, never without its caution, and the reply says so."""
    kept = list(decided)
    holds = room(grouped(book, kept, True), closing)
    if not holds and not room(grouped(book, kept, False), closing):
        kept = []
        ordered = sorted(decided, key=lambda a: not (a.decision and a.decision.caution))
        for answered in ordered:
            for form in (answered, brief(answered)):
                rest = [a for a in ordered if a is not answered and a.thing not in things(kept)]
                tail = [left_out(book, rest)] if rest else []
                if room(grouped(book, [*kept, form], False), [*tail, *closing]):
                    kept.append(form)
                    break
    left = [a for a in decided if a.thing not in things(kept)]
    tail = [left_out(book, left)] if left else []
    return fit([*grouped(book, kept, holds), *(Piece(t) for t in [*tail, *closing])])


def things(answers: Sequence[Answered]) -> list[Thing]:
    """What answers are about."""
    return [a.thing for a in answers]


def brief(answered: Answered) -> Answered:
    """An answer whose caution is only its first sentence, and that says nothing more."""
    decision = answered.decision
    if decision is None or not decision.caution:
        return answered
    first = sentences(decision.caution)[0]
    return replace(answered, decision=replace(decision, caution=first, prepare=()))


def room(pieces: Sequence[Piece], more: Sequence[str]) -> bool:
    """Whether all that must be said of pieces fits, with more sentences."""
    return length([*(plain(p.text) for p in pieces if p.rank == MUST), *more]) <= MOST


def grouped(book: Book, answers: Sequence[Answered], holds: bool) -> list[Piece]:
    """One sentence for each place with the things that go there. What has a caution stands alone,
    so that nobody can take it for another thing's."""
    out: list[Piece] = []
    places: dict[str, list[str]] = {}
    for a in answers:
        assert a.decision is not None
        there = where(book, a.decision, holds)
        if a.decision.caution:
            out += [Piece(f"{called(book, a)}: {there}."), Piece(a.decision.caution)]
            out += [Piece(step, SHOULD) for step in a.decision.prepare]
        else:
            places.setdefault(there, []).append(called(book, a))
    for there, names in places.items():
        first, *others = dict.fromkeys(names)
        out.append(Piece(f"{', '.join([first, *map(lower, others)])}: {there}."))
    return out


def lower(name: str) -> str:
    """A name inside a list, with a small letter unless it is an abbreviation."""
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]


def left_out(book: Book, answers: Sequence[Answered]) -> str:
    """The sentence that says what was left out, by name if that is short, and how to ask for it."""
    names = ", ".join(lower(called(book, a)) for a in answers)
    w = wording()["left_out"]
    named = plain(w["names"].format(names=names))
    return named if length([named]) <= LEFT_OUT else plain(w["short"])


def question(book: Book, asks: Asked) -> str:
    """The question with its numbered answers."""
    item = asks.thing.item
    name = book.items[item].name if item and item in book.items else asks.thing.said
    name = clip(plain(name), NAME) or "that"
    text = ask_text(book, asks.condition, name, "again" if asks.again else "short")
    choices = ", ".join(f"{n} {o['label']}" for n, o in enumerate(options(book, asks), 1))
    said = wording()["question"]["short"].format(question=text, options=choices)
    return f"{capital(name)}: {said}"


def emergency(reply: Reply) -> str:
    """What to do at once, step by step as far as it fits."""
    decision = reply.items[0].decision
    assert decision is not None
    steps = [s for s in decision.prepare if not s.startswith("Call 999")]
    first = wording()["emergency"]["short"]
    return fit([Piece(first), *(Piece(s, SHOULD) for s in steps)])
