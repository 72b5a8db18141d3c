"""Tells the things a message asks about from those it only mentions on the way."""

from __future__ import annotations

from bot.language.beside import came_in_other, heading, in_list, part_in_a_state
from bot.language.came import CAME
from bot.language.described import leave_described
from bot.language.found import Context, Findings, Found
from bot.language.groups import segments
from bot.language.placed import backgrounds, placed
from bot.language.words import language


def keep_asked(findings: Findings, context: Context) -> None:
    """Drop names that are no thing asked about.

    These are: a word of an idiom or of a longer phrase about a condition ("stone cold"); a
    material said of another thing ("a vase, glass"); what only holds the thing ("box of old
    inhalers"); and where it was or what it was for ("the box from a new fridge"), if another thing
    is left.
    """
    names = [n for n in findings.names if n.target.kind == "item"]
    others = [n for n in findings.names if n.target.kind != "item"]
    idiom = idiom_words(findings)
    names = [n for n in names if not all(k in idiom for k in range(n.first, n.last))]
    names = [n for n in names if not in_phrase(n, names, findings, context)]
    names = [n for n in names if not describes(n, names, findings, context)]
    names = [n for n in names if not holds(n, names, findings)]
    names = [n for n in names if not denied_or_measure(n, names, findings)]
    names = [n for n in names if not which_holder(n, findings)]
    names = [n for n in names if not verb(n, findings) and not bin_for(n, findings)]
    names = [n for n in names if not taken_off(n, names, findings)]
    names = asking_sentences(names, findings, context)
    names = [n for n in names if not came_in_other(n, names, findings)]
    names = [n for n in names if not heading(n, names, findings)]
    names = [n for n in names if not part_in_a_state(n, names, findings, context)]
    background = backgrounds(names, findings)
    if any(n not in background for n in names):
        names = [n for n in names if n not in background]
    names = likely(names, findings, context)
    names, findings.described = leave_described(names, findings, context)
    findings.names = sorted([*names, *others], key=lambda n: n.first)


ASIDE = 0.05
"""Probability of being asked about below which a name is only mentioned, if another is asked."""

VAGUE = 0.2
"""The same for a word such as "sheet" or "cover", which would make a question of its own."""

ASKED = 0.3
"""Probability from which a name counts as that other one."""


def likely(names: list[Found], findings: Findings, context: Context) -> list[Found]:
    """Names without those that the sequence model takes for mere mentions, hazards apart."""
    told = findings.asked
    items = context.lexicon.book.items
    vague = set(context.lexicon.generic.values())
    if not any(told.get(n.first, 0.0) >= ASKED for n in names):
        return names
    certain = any(told.get(n.first, 0.0) >= ASKED and n.target.id not in vague for n in names)
    listed = in_list(names, findings, vague)

    def stays(n: Found) -> bool:
        if items[n.target.id].hazard or n in listed:
            return True
        least = VAGUE if certain and n.target.id in vague else ASIDE
        return told.get(n.first, 1.0) >= least

    return [n for n in names if stays(n)]


def idiom_words(findings: Findings) -> set[int]:
    """Positions of words in an idiom."""
    norms = [w.norm for w in findings.words]
    bases = [w.base for w in findings.words]
    found: set[int] = set()
    for idiom in language().idioms:
        size = len(idiom)
        for i in range(len(norms) - size + 1):
            if norms[i : i + size] == idiom or bases[i : i + size] == idiom:
                found |= set(range(i, i + size))
    return found


def in_phrase(name: Found, names: list[Found], findings: Findings, context: Context) -> bool:
    """Whether a name is part of a longer phrase about a condition that matters to another thing,
    or to none in particular ("stone cold", "bone dry", "from the freezer")."""
    book = context.lexicon.book
    for fact in findings.facts:
        if fact.target.kind != "value" or not fact.covers(name):
            continue
        if not any(n is not name and n.covers(name) for n in names):
            own = fact.target.id in book.conditions_that_matter(name.target.id)
            return not own
    return placed_condition(name, names, findings, context)


def placed_condition(name: Found, names: list[Found], findings: Findings, context: Context) -> bool:
    """Whether a name, behind a word of place, is itself a condition of another thing."""
    if not placed(name, findings):
        return False
    book = context.lexicon.book
    about = {
        f.target.id
        for f in findings.facts
        if f.target.kind == "value" and f.first < name.last and name.first < f.last
    }
    others = [n for n in names if n is not name]
    return any(about & book.conditions_that_matter(n.target.id) for n in others)


def describes(name: Found, names: list[Found], findings: Findings, context: Context) -> bool:
    """Whether a name is only a material, or another condition, of a thing named before it."""
    lang, words = language(), findings.words
    size = [w for w in words[name.first : name.last] if w.is_word]
    if name.first > 1 and [w.norm for w in words[name.first - 2 : name.first]] in MADE_OF:
        return True
    before = [n for n in names if n.last <= name.first]
    shades = lang.material_words | {"clear", "black", "white", "brown", "thin", "thick"}
    material = size[-1].norm in lang.material_words and all(w.norm in shades for w in size)
    if not material and not condition_of(name, before, findings, context):
        return False
    after = words[name.last].norm if name.last < len(words) else ""
    if after in lang.kind_words or after == "one":
        return True
    if not before:
        return False
    part = segments(findings)
    alone = [k for k, p in enumerate(part) if p == part[name.first] and words[k].is_word]
    told = {k for f in findings.facts for k in range(f.first, f.last)}
    passed = told | set(range(name.first, name.last))
    rest = [k for k in alone if k not in passed and words[k].norm not in lang.skip]
    if rest or part[before[-1].first] == part[name.first]:
        return False
    starts = alone[0]
    joiner = words[starts - 1].norm if starts else ""
    if joiner == "," and len(before) > 1:
        between = words[before[-2].last : before[-1].first]
        if any(w.norm == "," for w in between):
            return False
    single = [n for n in names if n.last - n.first == 1]
    listed = sum(words[n.first].norm in lang.material_words for n in single) > 1
    return joiner not in ("and", "or", "plus") and words[starts].norm != "and" and not listed


MADE_OF = (["made", "of"], ["made", "from"], ["out", "of"])


def condition_of(name: Found, before: list[Found], findings: Findings, context: Context) -> bool:
    """Whether a name's words are also a condition of the thing named just before it."""
    if len(before) != 1:
        return False
    mine = context.lexicon.book.conditions_that_matter(before[-1].target.id)
    same = [f for f in findings.facts if (f.first, f.last) == (name.first, name.last)]
    return any(f.target.kind == "value" and f.target.id in mine for f in same)


def holds(name: Found, names: list[Found], findings: Findings) -> bool:
    """Whether a name only holds or measures the thing behind it ("bag of", "box full of")."""
    words = findings.words
    if words[name.last - 1].norm not in language().holds:
        return False
    k = name.last
    counted = name.first > 0 and words[name.first - 1].norm.isdigit()
    if counted and any(n.first == k for n in names):
        return True
    while k < len(words) and words[k].norm in ("full", "with", "half"):
        k += 1
    if k >= len(words) or words[k].norm not in ("of", "shredded"):
        return False
    return any(n.first > k and n.first - k <= 5 for n in names)


def denied_or_measure(name: Found, names: list[Found], findings: Findings) -> bool:
    """Whether a name beside others is only denied ("no lid"), a measure ("half a tub") or says
    which kind of another is meant ("the oven one")."""
    lang, words = language(), findings.words
    if len(names) < 2:
        return False
    if name.last < len(words) and words[name.last].norm == "one":
        return True
    k = name.first - 1
    said = {j for f in findings.facts for j in range(f.first, f.last)}
    passed = lang.articles | {"any", "much", "or"}
    while k > name.first - 5 and k >= 0 and (words[k].norm in passed or k in said):
        if words[k].norm in lang.denying:
            break
        k -= 1
    if k < 0:
        return False
    if words[k].norm in lang.measures:
        return words[name.last - 1].norm in lang.holds
    if words[k].norm == "not":
        return k == 0 or not words[k - 1].is_word or words[k - 1].norm == "but"
    return words[k].norm in lang.denying and words[k].is_word


def which_holder(name: Found, findings: Findings) -> bool:
    """Whether a name only asks for the container: "what container", "which bag"."""
    before = findings.words[name.first - 1].norm if name.first else ""
    return before in ("what", "which") and findings.words[name.last - 1].norm in language().holds


def verb(name: Found, findings: Findings) -> bool:
    """Whether a name's single word is a verb here: "stick it in the bin", "the bit you peel", but
    not "the foil it came in"."""
    words = findings.words
    if name.last - name.first != 1 or words[name.first].plural:
        return False
    before = words[name.first - 1].norm if name.first else ""
    after = words[name.last].norm if name.last < len(words) else ""
    hyphened = after == "-" and [w.norm for w in words[name.last + 1 : name.last + 2]] == ["off"]
    held = name.last + 1 < len(words) and words[name.last + 1].norm in CAME
    done_to = after in ("it", "them") and not (before in language().articles and held)
    return hyphened or done_to or before in ("i", "you", "we", "they")


def bin_for(name: Found, findings: Findings) -> bool:
    """Whether a name only tells which container is meant: "not in the cardboard bin"."""
    words = findings.words
    if name.last >= len(words) or words[name.last].norm not in language().streams:
        return False
    before = words[name.first - 1].norm if name.first else ""
    return before in language().articles or before in ("in", "not", "which", "what", "into")


def taken_off(name: Found, names: list[Found], findings: Findings) -> bool:
    """Whether a name is a part that another thing named before it lacks: "batteries out"."""
    words = findings.words
    after = [w.norm for w in words[name.last : name.last + 3]]
    if not after or after[0] not in language().lacking:
        return False
    ends = len(after) == 1 or after[1] in language().parts
    return ends and any(n.last <= name.first for n in names)


def asking_sentences(names: list[Found], findings: Findings, context: Context) -> list[Found]:
    """Of several sentences only those that ask count, hazards apart, if one of them has a name."""
    words = findings.words
    number, sentence, asking = 0, [], set()
    for w in words:
        sentence.append(number)
        if w.norm == "?" or w.norm in ("what", "where", "which", "how"):
            asking.add(number)
        if w.norm in (".", "?", "!"):
            number += 1
    kept = [n for n in names if sentence[n.first] in asking]
    if not kept or number == 0:
        return names
    items = context.lexicon.book.items
    return [n for n in names if n in kept or items[n.target.id].hazard]
