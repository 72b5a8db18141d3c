"""A second way to compare two books, slow and plain: ask both everything, and see what differs."""

from __future__ import annotations

from datetime import date
from itertools import combinations, product

from rules import Question, decide, decide_cautiously

TEXTS = ("others", "prepare", "caution", "why", "source")


def every_case(old, new, ids, most=None):
    """Every combination of all values of all conditions that may matter to an item, in either
    book; with `most`, every n-th of them, so that there are no more."""
    conditions = {}
    for book, item in ((old, ids[0]), (new, ids[1])):
        for c in sorted(book.conditions_that_matter(item)):
            known = conditions.setdefault(c, [])
            known += [v for v in book.conditions[c].values if v not in known]
    total = 1
    for values in conditions.values():
        total *= len(values)
    step = max(1, total // most) | 1 if most else 1
    for n, values in enumerate(product(*conditions.values())):
        if n % step == 0:
            yield dict(zip(conditions, values, strict=True))


def said(book, district, day, item, facts):
    """What a book answers, or `None` where it has to ask because it does not know a value."""
    told = decide(book, district, day, item, facts)
    if isinstance(told, Question):
        return None

    def plain(text):
        # A container's name in a text is the container's difference, not the text's.
        name = told.container
        return text.replace(name, "{container}") if text and name else text

    return {
        "goes": told.destination,
        "container": told.container,
        "others": told.alternatives,
        "prepare": tuple(map(plain, told.prepare)),
        "caution": plain(told.caution),
        "why": plain(told.why),
        "source": told.source,
    }


def truly_apart(old, new, days, ids, district, facts):
    """Each aspect that differs for one full set of facts, with both values."""
    one = said(old, district, days[0], ids[0], facts)
    other = said(new, district, days[1], ids[1], facts)
    if one is None or other is None:
        return None
    out = {}
    if one["goes"] != other["goes"]:
        out["goes"] = one["goes"], other["goes"]
    elif one["container"] != other["container"]:
        out["container"] = one["goes"], other["goes"]
    for aspect in TEXTS:
        if one[aspect] != other[aspect]:
            out[aspect] = one[aspect] or None, other[aspect] or None
    return out


def first_apart(old, new, days, ids, district):
    """What differs for a resident who has said nothing but the item."""
    out = {}
    steps = decide(old, district, days[0], ids[0]), decide(new, district, days[1], ids[1])
    asked = [(s.condition, s.values) if isinstance(s, Question) else None for s in steps]
    if asked[0] != asked[1]:
        out["question"] = tuple(a and (a[0], list(a[1])) for a in asked)
    elif asked[0] and district:
        careful = [
            decide_cautiously(b, district, d, i).destination
            for b, d, i in zip((old, new), days, ids, strict=True)
        ]
        if careful[0] != careful[1]:
            out["careful"] = tuple(careful)
    return out


def parts(facts):
    """Every part of some facts."""
    for size in range(len(facts) + 1):
        for chosen in combinations(facts.items(), size):
            yield dict(chosen)


def all_of(told):
    """All that an answer or a question says, but not which row it is."""
    if isinstance(told, Question):
        return told.condition, told.values
    return (told.destination, told.container, told.alternatives, told.prepare, told.why) + (
        told.caution,
        told.source,
        sorted((c, told.facts.get(c)) for c in told.assumed),
    )


def nothing_missed(old, new, told, days, pairs, most=None):
    """Whatever part of the facts is stated: a reply that differs is told of, in that district.

    Returns how many replies were looked at.
    """
    looked = 0
    for ids in pairs:
        for district in (*(d for d in old.districts if d in new.districts), None):
            here = told.about(ids, district).rows
            if district is None:
                here = here or [r for r in told.rows if (r[1]["old"], r[1]["new"]) == ids]
            seen = set()
            for facts in every_case(old, new, ids, most):
                for part in parts(facts):
                    key = tuple(sorted(part.items()))
                    if key in seen:
                        continue
                    seen.add(key)
                    looked += 1
                    one = decide(old, district, days[0], ids[0], part)
                    other = decide(new, district, days[1], ids[1], part)
                    assert here or all_of(one) == all_of(other), (ids, district, days, part)
    return looked


class Told:
    """What a comparison's JSON says of a case."""

    def __init__(self, told):
        self.rows = []
        for change in told["answers"]:
            for one in (change, *change["details"]):
                for item in one["items"]:
                    for n, place in enumerate(one["districts"]):
                        self.rows.append((one, item, place, item["cases"][n]))

    def on(self, day):
        """The part that holds on a day, where days are told."""
        out = Told({"answers": []})
        out.rows = [
            r
            for r in self.rows
            if (r[0]["from"] is None or date.fromisoformat(r[0]["from"]) <= day)
            and (r[0]["until"] is None or day <= date.fromisoformat(r[0]["until"]))
        ]
        return out

    def about(self, ids, district):
        """The part about an item in a district."""
        out = Told({"answers": []})
        out.rows = [
            r
            for r in self.rows
            if (r[1]["old"], r[1]["new"]) == ids and r[2]["district"] == district
        ]
        return out

    def apart(self, facts):
        """Each aspect said to differ for one full set of facts; each only once."""
        out = {}
        for one, _, place, cases in self.rows:
            if one["aspect"] in ("question", "careful", "assumed"):
                continue
            if any(all(facts.get(c) in vs for c, vs in case.items()) for case in cases):
                assert one["aspect"] not in out, (one, facts)
                out[one["aspect"]] = value(place["old"]), value(place["new"])
        return out

    def first(self):
        """What is said to differ for somebody who has said nothing more."""
        out = {}
        for one, _, place, cases in self.rows:
            if one["aspect"] in ("question", "careful") and {} in cases:
                out[one["aspect"]] = value(place["old"]), value(place["new"])
        return out


def value(told):
    """A value of the JSON as the slow way has it."""
    if isinstance(told, dict) and "destination" in told:
        return told["destination"]
    if isinstance(told, dict):
        return told["condition"], [o["value"] for o in told["options"]]
    return tuple(told) if isinstance(told, list) else told


def agree(old, new, told, days, pairs, most=None):
    """Compare what is told with the slow way, item by item, for one pair of days.

    Returns how many cases were looked at and in how many something differs.
    """
    looked = differing = 0
    for ids in pairs:
        for district in [d for d in old.districts if d in new.districts]:
            here = told.about(ids, district)
            assert here.first() == first_apart(old, new, days, ids, district), (ids, district, days)
            for facts in every_case(old, new, ids, most):
                truth = truly_apart(old, new, days, ids, district, facts)
                if truth is None:
                    continue
                looked += 1
                differing += bool(truth)
                assert here.apart(facts) == truth, (ids, district, days, facts)
        nowhere = told.about(ids, None).first()
        assert nowhere == first_apart(old, new, days, ids, None), (ids, days)
    return looked, differing
