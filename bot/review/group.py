"""Puts the same thing asked in different words together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from rapidfuzz import fuzz, process

from bot.review.form import Form, joined_orders, same, slip

ALIKE = 70.0
"""Likeness of two words, of 100, from which it is looked whether one is a slip of the other."""


class Groups:
    """Keys of groups of forms.

    A form joins the first group that has a form for the same thing, else it begins one. What was
    once given a key keeps it, whatever comes later: `kept` has the keys given before by a form's
    digest, `known` the forms of groups that are there already. `fresh` collects new keys.
    """

    def __init__(
        self,
        kept: Mapping[str, str] | None = None,
        known: Mapping[str, Iterable[Form]] | None = None,
    ) -> None:
        self.kept = dict(kept or {})
        self.fresh: dict[str, str] = {}
        self.members: dict[str, list[Form]] = {}
        self.forms: list[tuple[Form, str]] = []
        self.holders: dict[str, set[int]] = defaultdict(set)
        for key, forms in (known or {}).items():
            for form in forms:
                self.add(form, key)

    def key(self, form: Form) -> str:
        """The key of the group a form belongs to."""
        key = self.kept.get(form.digest)
        if key is None:
            key = self.found(form) or f"words-{form.digest}"
            self.kept[form.digest] = self.fresh[form.digest] = key
        self.add(form, key)
        return key

    def found(self, form: Form) -> str | None:
        """The first group that has a form for the same thing."""
        near = {
            number
            for word in (*form.words, *joined_orders(form))
            for other in self.near(word)
            for number in self.holders[other]
        }
        return next((self.forms[n][1] for n in sorted(near) if same(form, self.forms[n][0])), None)

    def near(self, word: str) -> list[str]:
        """The words of the groups that are this one, slips included."""
        alike = process.extract(
            word, list(self.holders), scorer=fuzz.ratio, score_cutoff=ALIKE, limit=None
        )
        return [other for other, _, _ in alike if slip(word, other)]

    def add(self, form: Form, key: str) -> None:
        """Note a form as one of a group."""
        if form in self.members.setdefault(key, []):
            return
        self.members[key].append(form)
        for word in (*form.words, "".join(form.words)):
            self.holders[word].add(len(self.forms))
        self.forms.append((form, key))
