"""What holds for any item, district, day and any facts, looked for with Hypothesis."""

from __future__ import annotations

from datetime import date
from random import Random

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from small_book import TEXTS

from rules import Decision, Question, decide, decide_cautiously
from rules.loader import BOOK, BookError, load, load_texts
from rules.model import DISTRICT, Book
from rules.yamlfile import parse

DEMO = load(BOOK)
DISTRICTS = (*DEMO.districts, None)
CODES = frozenset(DEMO.destinations)
JUNK = st.dictionaries(
    st.sampled_from(["nonsense", "", "district", *DEMO.conditions]), st.text(max_size=8), max_size=3
)
ITEMS = st.sampled_from(sorted(DEMO.items))
WITH_FACTS = st.sampled_from(sorted(i for i in DEMO.items if DEMO.conditions_that_matter(i)))
DAYS = st.dates(date(2020, 1, 1), date(2035, 12, 31)) | st.sampled_from(DEMO.turning_days())
many = settings(max_examples=200, deadline=None, derandomize=True)


@st.composite
def facts_about(draw, item, exclude=frozenset()):
    """Some of the conditions that matter to an item, each with any of its values."""
    conditions = sorted(DEMO.conditions_that_matter(item) - exclude)
    chosen = draw(st.lists(st.sampled_from(conditions), unique=True)) if conditions else []
    return {c: draw(st.sampled_from(sorted(DEMO.conditions[c].values))) for c in chosen}


@st.composite
def situations(draw, items=ITEMS, districts=DISTRICTS, junk=True):
    """An item, a district, a day and what was said."""
    item = draw(items)
    facts = draw(facts_about(item))
    if junk:
        facts = {**draw(JUNK), **facts}
    return draw(st.sampled_from(districts)), draw(DAYS), item, facts


@many
@given(situations(), st.sets(st.sampled_from(sorted(CODES)), max_size=3))
def test_decide_is_total_and_the_same_twice(situation, out):
    district, day, item, facts = situation
    answer = decide(DEMO, district, day, item, facts, frozenset(out))
    assert answer == decide(DEMO, district, day, item, facts, frozenset(out))
    if isinstance(answer, Decision):
        assert answer.destination in CODES
        assert set(answer.alternatives) <= CODES - {answer.destination}
        assert answer.why and answer.source and answer.rule
        assert set(answer.assumed) <= set(answer.facts)
        assert not set(answer.assumed) & {c for c, v in facts.items() if answer.facts.get(c) == v}
    else:
        assert len(answer.values) == len(set(answer.values)) >= 2
        known = (
            DEMO.districts
            if answer.condition == DISTRICT
            else DEMO.conditions[answer.condition].values
        )
        assert set(answer.values) <= set(known)


@many
@given(situations())
def test_cautious_answer_is_total(situation):
    district, day, item, facts = situation
    decision = decide_cautiously(DEMO, district, day, item, facts)
    assert decision.destination in CODES


def followed(item, district, facts):
    """The row that decides for a full set of facts, found without the engine."""
    table = DEMO.items[item].table_for(district)
    for row in table.rows:
        if all(facts.get(c, table.assume.get(c)) in values for c, values in row.when.items()):
            return followed(row.see, district, facts) if row.see else (item, table, row)
    raise AssertionError(f"no row for {item} {facts}")


HAZARDS = sorted(i for i in DEMO.items if DEMO.items[i].hazard)


@many
@given(situations(items=st.sampled_from(HAZARDS), districts=tuple(DEMO.districts), junk=False))
def test_hazard_goes_to_a_bin_only_by_a_row_that_says_why_it_is_safe(situation):
    district, day, item, facts = situation
    answer = decide(DEMO, district, day, item, facts)
    while isinstance(answer, Question):
        facts = {**facts, answer.condition: answer.values[0]}
        answer = decide(DEMO, district, day, item, facts)
    if DEMO.destinations[answer.destination].kind != "bin":
        return
    known = {**facts, **answer.facts}
    _, _, row = followed(item, district, known)
    assert row.safe_because


@many
@given(
    situations(items=st.sampled_from(HAZARDS), districts=tuple(DEMO.districts)),
    st.sets(st.sampled_from(sorted(CODES))),
)
def test_hazard_is_never_ruled_out_into_a_bin(situation, out):
    """Whatever will not do for a resident, the next best of a hazard is no bin."""
    district, day, item, facts = situation
    plain = decide(DEMO, district, day, item, facts)
    assume(isinstance(plain, Decision))
    assume(DEMO.destinations[plain.destination].kind != "bin")
    other = decide(DEMO, district, day, item, facts, frozenset(out))
    if isinstance(other, Decision):
        assert DEMO.destinations[other.destination].kind != "bin"


ASKING = [
    i for i in HAZARDS if isinstance(decide(DEMO, "pellbrook", date(2027, 1, 1), i), Question)
]


@many
@given(situations(items=st.sampled_from(ASKING)))
def test_hazard_in_doubt_is_never_binned(situation):
    district, day, item, facts = situation
    answer = decide(DEMO, district, day, item, facts)
    assume(isinstance(answer, Question) and answer.condition != DISTRICT)
    cautious = decide_cautiously(DEMO, district, day, item, facts)
    assert DEMO.destinations[cautious.destination].kind != "bin"


@many
@given(situations(items=WITH_FACTS), st.randoms(use_true_random=False))
def test_two_questions_are_enough(situation, chance: Random):
    """Three where the district has to be asked, too."""
    district, day, item, facts = situation
    asked = []
    answer = decide(DEMO, district, day, item, facts)
    while isinstance(answer, Question):
        assert answer.condition not in asked
        asked.append(answer.condition)
        value = chance.choice(answer.values)
        if answer.condition == DISTRICT:
            district = value
        else:
            facts = {**facts, answer.condition: value}
        answer = decide(DEMO, district, day, item, facts)
    assert len([c for c in asked if c != DISTRICT]) <= 2


@many
@given(situations(items=WITH_FACTS), st.randoms(use_true_random=False))
def test_order_of_telling_does_not_matter(situation, chance: Random):
    district, day, item, facts = situation
    pairs = list(facts.items())
    chance.shuffle(pairs)
    assert decide(DEMO, district, day, item, dict(pairs)) == decide(
        DEMO, district, day, item, facts
    )


def assumable(item):
    """Conditions that some table on the way takes as given: saying otherwise may reopen it."""
    found, todo = set(), [item]
    while todo:
        for table in (lambda i: (i.table, *i.overrides.values()))(DEMO.items[todo.pop()]):
            found |= set(table.assume)
            todo += [row.see for row in table.rows if row.see]
    return frozenset(found)


@many
@given(st.data(), situations(items=WITH_FACTS))
def test_more_facts_never_reopen_what_is_settled(data, situation):
    district, day, item, facts = situation
    settled = decide(DEMO, district, day, item, facts)
    assume(isinstance(settled, Decision))
    more = data.draw(facts_about(item, exclude=assumable(item)))
    again = decide(DEMO, district, day, item, {**more, **facts})
    assert isinstance(again, Decision)
    assert again.destination == settled.destination


@many
@given(situations(items=WITH_FACTS, districts=tuple(DEMO.districts)))
def test_saying_what_was_assumed_changes_nothing(situation):
    district, day, item, facts = situation
    answer = decide(DEMO, district, day, item, facts)
    assume(isinstance(answer, Decision) and answer.assumed)
    said = {c: answer.facts[c] for c in answer.assumed}
    again = decide(DEMO, district, day, item, {**facts, **said})
    assert isinstance(again, Decision)
    assert (again.destination, again.alternatives) == (answer.destination, answer.alternatives)
    assert not set(said) & set(again.assumed)


@many
@given(situations(items=ITEMS, districts=tuple(DEMO.districts), junk=False))
def test_known_district_answers_as_the_open_one_does(situation):
    """What is settled without a district is the same in each."""
    district, day, item, facts = situation
    open_ = decide(DEMO, None, day, item, facts)
    assume(isinstance(open_, Decision))
    there = decide(DEMO, district, day, item, facts)
    assert isinstance(there, Decision)
    assert there.destination == open_.destination


NAMES = sorted(TEXTS)
SNIPPETS = st.sampled_from(
    [
        "{",
        "}",
        "[",
        "]",
        ":",
        ": ",
        "- ",
        "&a ",
        "*a",
        "!!set ",
        "!!float ",
        "|",
        ">",
        "'",
        '"',
        "\t",
        "?",
        "<<: ",
        "---\n",
        "...\n",
        "%YAML 9\n",
        "\x00",
        "\ufeff",
        "é",
        "2027-02-30",
        "~",
        "0x1F",
        "1e9",
        "null",
        "see",
        "goes",
        "\n",
        "  ",
        "#",
        ",",
        "@",
        "`",
    ]
) | st.text(max_size=4)


@st.composite
def mutated(draw):
    """The small book's texts with a few characters or lines cut, moved or put in."""
    name = draw(st.sampled_from(NAMES))
    text = TEXTS[name]
    for _ in range(draw(st.integers(1, 4))):
        kind = draw(st.sampled_from(["cut", "insert", "drop line", "repeat line", "swap"]))
        lines = text.splitlines(keepends=True) or [""]
        at = draw(st.integers(0, len(text)))
        line = draw(st.integers(0, len(lines) - 1))
        if kind == "cut":
            text = text[:at] + text[at + draw(st.integers(1, 12)) :]
        elif kind == "insert":
            text = text[:at] + draw(SNIPPETS) + text[at:]
        elif kind == "drop line":
            text = "".join(lines[:line] + lines[line + 1 :])
        elif kind == "repeat line":
            text = "".join(lines[: line + 1] + lines[line:])
        else:
            other = draw(st.integers(0, len(lines) - 1))
            lines[line], lines[other] = lines[other], lines[line]
            text = "".join(lines)
    return {**TEXTS, name: text}


@settings(
    max_examples=200, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck)
)
@given(mutated())
def test_loader_raises_book_error_or_nothing(texts):
    try:
        book = load_texts(texts)
    except BookError as error:
        assert error.mistakes
        for mistake in error.mistakes:
            assert mistake.what and mistake.line >= 1
    else:
        assert isinstance(book, Book)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.text(max_size=60) | st.lists(SNIPPETS, max_size=12).map("".join))
def test_any_text_is_read_or_refused(text):
    try:
        load_texts({**TEXTS, "odd.yml": text})
    except BookError as error:
        assert {m.file for m in error.mistakes} == {"odd.yml"}


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.lists(SNIPPETS, max_size=12).map("".join))
def test_lines_point_into_the_file(text):
    document, mistakes = parse("odd.yml", text)
    last = max(1, len(text.splitlines()) + 1)
    for line in (*document.lines.values(), *(m.line for m in mistakes)):
        assert 1 <= line <= last + text.count("\x85") + text.count("\u2028") + text.count("\u2029")


def test_properties_have_what_they_need():
    assert len(HAZARDS) > 50
    assert len(ASKING) > 10
    assert any(DEMO.destinations[c].kind == "bin" for c in CODES)
