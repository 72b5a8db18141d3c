"""Everything the rule book can be asked about, by the words for it.

Built from a `Book` each time one is loaded, so that a new name works without training.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from bot.language.spelling import Speller, english
from bot.language.words import joined, language, phrase_words, without_skips
from rules.model import Book


@dataclass(frozen=True, slots=True)
class Target:
    """What a phrase stands for: an item, a condition's value, a container and so on.

    `kind` is one of item, value, district, container, live, sign, decline, centre; `id` the id in
    the rule files; `part` the second half where there is one (a value, a danger's kind).
    """

    kind: str
    id: str
    part: str = ""


HAZARD_WEIGHT = 25
"""Extra weight of the words for a dangerous thing when a slip may mean several words."""

Index = dict[str, tuple[Target, ...]]


@dataclass
class Lexicon:
    """Indexes from run-together words to what they stand for."""

    book: Book
    names: Index = field(default_factory=dict)
    phrases: Index = field(default_factory=dict)
    exceptions: frozenset[str] = frozenset()
    generic: dict[str, str] = field(default_factory=dict)
    longest: int = 0
    longest_phrase: int = 0
    vocabulary: frozenset[str] = frozenset()
    speller: Speller = field(default_factory=lambda: Speller({}))
    marks: dict[str, str] = field(default_factory=dict)

    def clash(self) -> list[tuple[str, list[str]]]:
        """Names that belong to more than one item."""
        return [
            (name, sorted({t.id for t in targets}))
            for name, targets in self.names.items()
            if len({t.id for t in targets if t.kind == "item"}) > 1
        ]


def build(book: Book, frame: Iterable[str] = ()) -> Lexicon:
    """The lexicon of a book. `frame` are the words questions are made of, for the speller."""
    names: dict[str, list[Target]] = defaultdict(list)
    phrases: dict[str, list[Target]] = defaultdict(list)
    weight: dict[str, int] = defaultdict(int)
    longest = longest_phrase = 0
    exceptions = set()
    alarms: Counter[str] = Counter()

    def words_for(text: str, heavy: int) -> tuple[str, ...]:
        words = phrase_words(text)
        for w in words:
            weight[w] += heavy
        return words

    def name(text: str, target: Target) -> None:
        nonlocal longest
        words = words_for(text, 5)
        longest = max(longest, len(words))
        if words and target not in names[joined(words)]:
            names[joined(words)].append(target)

    def phrase(text: str, target: Target) -> None:
        nonlocal longest_phrase
        words = words_for(text, 2)
        short = without_skips(words)
        if not short or all(w in language().small for w in short):
            short = words
        longest_phrase = max(longest_phrase, len(short))
        key = " ".join(short) if short and short[0] in language().skip else joined(short)
        if short and target not in phrases[key]:
            phrases[key].append(target)

    for item in book.items.values():
        for text in (item.name, *item.also):
            name(text, Target("item", item.id))
            if item.hazard:
                words_for(text, HAZARD_WEIGHT)
    for district in book.districts.values():
        for text in (district.name, *district.also):
            name(text, Target("district", district.id))
        for c in district.containers:
            for text in (c.name, *c.also):
                name(text, Target("container", c.code, district.id))
    for centre in book.centres.values():
        name(centre.name, Target("centre", centre.id))
    for condition in book.conditions.values():
        for value in condition.values.values():
            for text in (value.label, *value.says):
                if text.lower() in ("yes", "no"):
                    continue
                phrase(text, Target("value", condition.id, value.id))
    for danger in book.dangers.values():
        for text in danger.live:
            phrase(text, Target("live", danger.id))
    for text in book.live_signs:
        phrase(text, Target("live", ""))
        alarms.update(phrase_words(text))
    for text in book.not_live:
        exceptions.add(joined(without_skips(words_for(text, 1))))
    for sign in book.signs.values():
        for text in sign.says:
            phrase(text, Target("sign", sign.id))
    for destination in book.destinations.values():
        for text in destination.wont_do:
            phrase(text, Target("decline", destination.code))
    for topic in book.topics.values():
        for text in topic.says:
            words_for(text, 1)
    for word in sorted(frame):
        if word in english():
            weight[word] += 3
    lexicon = Lexicon(
        book=book,
        names={k: tuple(v) for k, v in names.items()},
        phrases={k: tuple(v) for k, v in phrases.items()},
        exceptions=frozenset(exceptions),
        longest=longest,
        longest_phrase=longest_phrase,
        vocabulary=frozenset(weight),
        speller=Speller(dict(weight), alarms),
        marks=mark_names(book),
    )
    lexicon.generic = generic_words(lexicon)
    return lexicon


def generic_words(lexicon: Lexicon) -> dict[str, str]:
    """Single words that are items whose rows only point to other items (tray, lid, oil)."""
    return {
        key: t.id
        for key, targets in lexicon.names.items()
        for t in targets
        if t.kind == "item" and all(r.see for r in lexicon.book.items[t.id].table.rows)
    }


def mark_names(book: Book) -> dict[str, str]:
    """Marks on packaging by figure, by letters, and by both together, without punctuation."""
    found: dict[str, str] = {}
    for item in book.items.values():
        if not item.mark:
            continue
        letters = ["".join(ch for ch in w.lower() if ch.isalnum()) for w in item.mark.letters]
        for number in item.mark.numbers:
            found.setdefault(number.lower(), item.id)
            for word in letters:
                found[f"{word}{number.lower()}"] = item.id
                found[f"{number.lower()}{word}"] = item.id
        for word in letters:
            found.setdefault(word, item.id)
    return found


def frame_words(texts: Iterable[str]) -> frozenset[str]:
    """The words of question frames, for telling them from things."""
    return frozenset(w for t in texts for w in phrase_words(t)) | language().skip
