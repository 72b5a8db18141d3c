"""What the panel shows of the rules, over HTTP, and the parts that need no server."""

from __future__ import annotations

import itertools
import json
import time
from datetime import date

import jsonschema
import pytest

from bot import paths
from bot.panel import table
from bot.panel.search import Finder, index, search
from bot.panel.texting import number_of
from bot.remarks import Remarks
from rules import decide, load
from tests.bot.staff import Staff, with_account

BOOK = load()
DAY = date(2026, 12, 1)
CALLER = "panel-" + "a" * 24


@pytest.fixture(scope="module")
def agent(running, site):
    return Staff(site.address).sign_in(with_account(running.data, "panel-agent"))


# ---- search


def found(text):
    return [m.item for m in Finder().look(BOOK, text)]


@pytest.mark.parametrize(
    ("typed", "item"),
    [
        ("piz", "pizza_box"),
        ("pizza b", "pizza_box"),
        ("pizza bx", "pizza_box"),
        ("bubblewrap", "bubble_wrap"),
        ("bubble rap", "bubble_wrap"),
        ("aa", "household_battery"),
        ("what do i do with an old kettle", "kettle"),
        ("KETTLE", "kettle"),
        ("kettles", "kettle"),
        ("  tyre  ", "tyre"),
        ("smoke alrm", "smoke_alarm"),
    ],
)
def test_finds_by_start_by_slip_and_by_other_name(typed, item):
    assert BOOK.items[item] and found(typed)[0] == item


def test_every_name_of_the_book_finds_its_item():
    laid_out = index(BOOK)
    missed = [
        (item.id, name)
        for item in BOOK.items.values()
        for name in (item.name, *item.also)
        if item.id not in [m.item for m in search(laid_out, name)]
    ]
    assert not missed


def test_says_which_other_name_matched():
    first = Finder().look(BOOK, "jam jar")[0]
    assert (first.item, first.also) == ("glass_jar", "jam jar")
    assert Finder().look(BOOK, "kettle")[0].also is None


@pytest.mark.parametrize("text", ["", "   ", "?!", "zzzzqqqq", "\u0000", "💥"])
def test_nothing_matches_what_names_nothing(text):
    assert found(text) == []


def test_search_is_quick_enough_to_type_against():
    finder = Finder()
    finder.look(BOOK, "x")
    typed = [
        n[:k] for i in list(BOOK.items.values())[::7] for n in [i.name] for k in range(1, len(n))
    ]
    start = time.perf_counter()
    for text in typed:
        finder.look(BOOK, text)
    # As they type: 20 ms is a fifth of what people notice (common practice, no source).
    assert (time.perf_counter() - start) / len(typed) < 0.02


def test_search_follows_the_book():
    finder = Finder()
    finder.look(BOOK, "kettle")
    other = load()
    assert finder.look(other, "kettle") and finder.found.book is other


# ---- the table


def test_table_has_one_row_for_every_combination():
    """OMG DMN, hit policy "unique": exactly one row for each combination, no gap, no overlap."""
    wrong = []
    for item, district, day in itertools.product(BOOK.items, BOOK.districts, BOOK.turning_days()):
        rows = table.lines(BOOK, item, district, day)
        for facts in table.paths(BOOK, item, district, day, {}):
            fit = [r for r in rows if all(facts.get(c) in v for c, v in r.cells.items())]
            expected = decide(BOOK, district, day, item, facts)
            if len(fit) != 1 or table.key(fit[0].decision) != table.key(expected):
                wrong.append((item, district, day, facts, len(fit)))
    assert not wrong, wrong[:5]


def test_merged_rows_say_different_things_or_cannot_be_told_in_one():
    rows = table.lines(BOOK, "pizza_box", "pellbrook", DAY)
    told = [{c: sorted(v) for c, v in r.cells.items()} for r in rows]
    assert {"food_origin": ["takeaway"]} in told
    assert {"food_origin": ["home"], "soiling": ["dirty"]} in told
    assert len(rows) == 5


def test_unsettled_row_is_the_careful_answer():
    shown = table.shown(BOOK, "pizza_box", "pellbrook", DAY)
    careful = shown["groups"][0]["table"]["unsettled"]
    assert careful["destination"] == "residual" and careful["careful"]


def test_read_out_sentence_has_the_place_and_the_caution_of_the_written_answer():
    for item, district in itertools.product(BOOK.items, BOOK.districts):
        for line in table.lines(BOOK, item, district, DAY):
            told = table.outcome(BOOK, item, line.decision, DAY)
            if told["kind"] not in ("emergency", "bag"):
                assert told["phrase"] in told["spoken"] and told["phrase"] in told["long"]
            if told["container"]:
                assert told["container"].lower() in told["spoken"].lower()
            if told["caution"]:
                assert told["caution"] in told["spoken"]
                assert told["caution"] not in told["sentence"]
                # The assistant says nothing but what to do at once when it is an emergency.
                assert told["caution"] in told["long"] or told["kind"] == "emergency"


def test_later_change_is_told():
    changes = table.shown(BOOK, "pizza_box", "tarnside", DAY)["changes"]
    assert [c["on"] for c in changes] == ["2027-02-01"]
    assert changes[0]["told"] == ["Grey bin with a yellow lid, not white sack"]
    assert table.shown(BOOK, "pizza_box", "tarnside", date(2027, 2, 1))["changes"] == []
    film = table.shown(BOOK, "bread_bag" if "bread_bag" in BOOK.items else "film", None, DAY)
    assert {c["on"] for c in film["changes"]} == {"2027-03-31"}


def test_changes_are_the_days_on_which_the_engine_answers_something_else():
    for item, district in itertools.product(list(BOOK.items)[::9], BOOK.districts):
        told = {c["on"] for c in table.changes(BOOK, item, district, DAY)}
        for day in (d for d in BOOK.turning_days() if d > DAY):
            eve = date.fromordinal(day.toordinal() - 1)
            before, after = (
                [
                    (decide(BOOK, district, d, item, f).destination,
                     decide(BOOK, district, d, item, f).container)
                    for f in table.paths(BOOK, item, district, day, {})
                ]
                for d in (eve, day)
            )  # fmt: skip
            if before != after:
                assert day.isoformat() in told, (item, district, day)


def test_rows_point_to_rules_that_are_there():
    for line in table.lines(BOOK, "packaging", "oxmere", DAY):
        item = BOOK.items[line.decision.item]
        assert str(item.table_for("oxmere").where.file) in line.decision.rule


# ---- over HTTP


def test_start_tells_districts_and_that_texts_are_not_set_up(agent):
    told = agent.get("/panel/api/start")
    assert {d["id"] for d in told["districts"]} == set(BOOK.districts)
    assert "settings.yml" in told["texting"]


def test_find_and_open(agent):
    first = agent.get("/panel/api/find?q=jam%20jar")["matches"][0]
    assert (first["item"], first["name"], first["also"]) == ("glass_jar", "glass jar", "jam jar")
    shown = agent.get("/panel/api/item/glass_jar?district=tarnside&on=2026-12-01")
    assert shown["groups"][0]["districts"][0] == "tarnside"
    assert sorted(d for g in shown["groups"] for d in g["districts"]) == sorted(BOOK.districts)
    assert agent.request("/panel/api/item/flumpwangler")[0] == 404
    status, _, said = agent.request("/panel/api/item/kettle?on=tomorrow")
    assert status == 400 and "2027-02-10" in said
    assert agent.get("/panel/api/item/kettle?district=atlantis")["district"] is None


def ask(agent, message, caller=CALLER, **more):
    body = {"caller": caller, "message": message, "on": "2026-12-01", **more}
    return agent.post("/panel/api/ask", body)


def test_question_goes_on_in_the_callers_conversation(agent, site):
    messages = ask(agent, "does a pizza box go in with the cardboard", district="pellbrook")
    (asked,) = [m["custom"] for m in messages if "custom" in m]
    assert asked["kind"] == "question"
    (told,) = [
        m["custom"] for m in ask(agent, "from a takeaway", district="pellbrook") if "custom" in m
    ]
    assert told["kind"] == "answer" and told["items"][0]["destination"] == "residual"
    other = "panel-" + "b" * 24
    (fresh,) = [m["custom"] for m in ask(agent, "from a takeaway", other) if "custom" in m]
    assert fresh["items"] == [] or fresh["items"][0]["item"] != "pizza_box"


@pytest.mark.parametrize(
    "body",
    [
        [1],
        {"message": "x"},
        {"caller": "me", "message": "x"},
        {"caller": CALLER, "message": " "},
        {"caller": CALLER, "message": 3},
        {"caller": CALLER, "message": "x", "on": "soon"},
    ],
)
def test_wrong_question_is_told_what_is_wrong(agent, body):
    status, told = agent.try_post("/panel/api/ask", body)
    assert status == 400 and told["error"].endswith(".")


def test_text_without_a_gateway_says_how(agent):
    body = {"number": "07700 900123", "items": [{"item": "kettle", "facts": {}}]}
    status, told = agent.try_post("/panel/api/text", body)
    assert status == 503 and "settings.yml" in told["error"]


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("07700 900123", "07700900123"),
        ("+44 (7700) 900-123", "+447700900123"),
        ("01632 960118", "01632960118"),
        ("999", None),
        ("0770090012", "0770090012"),
        ("1234567890123456", None),
        ("07700 900 12x", None),
        ("++447700900123", None),
        ("", None),
        ("٠٧٧٠٠٩٠٠١٢٣", None),
    ],
)
def test_numbers(typed, number):
    assert number_of(typed) == number


def test_remark_goes_to_the_officers_list(agent, running):
    body = {
        "kind": "wrong", "note": "Should say rinse it.", "question": "Pizza box",
        "district": "oxmere", "on": "2026-12-01", "caller": CALLER,
        "items": [{"item": "pizza_box", "facts": {"food_origin": "takeaway"},
                   "destination": "residual"}],
    }  # fmt: skip
    number = agent.post("/panel/api/remark", body)["number"]
    kept = next(r for r in Remarks(running.data / "remarks.db").all() if r.id == number)
    assert (kept.kind, kept.channel, kept.note) == ("wrong", "panel", "Should say rinse it.")
    assert (kept.question, kept.district, kept.on) == ("Pizza box", "oxmere", "2026-12-01")
    schema = json.loads((paths.PROJECT / "actions" / "answer.schema.json").read_text())
    jsonschema.Draft7Validator(schema).validate(kept.reply)
    assert kept.reply["items"][0]["rule"] == "items/paper_card.yml: pizza_box, row 5"


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"kind": "lovely"}, "wrong or something is missing"),
        ({"note": "", "question": ""}, "note"),
        ({"reply": {"kind": "answer"}}, "no answer"),
        ({"caller": "x"}, "caller"),
        ({"items": [{"item": "kettle", "destination": "food"}]}, "say something else now"),
        ({"items": [{"item": "flumpwangler"}]}, "no longer in the rules"),
        ({"items": ["x"] * 7}, "one to six"),
    ],
)
def test_wrong_remark_is_told_what_is_wrong(agent, change, told):
    body = {"kind": "missing", "note": "n", "question": "q", "caller": CALLER, **change}
    status, said = agent.try_post("/panel/api/remark", body)
    assert status == 400 and told in said["error"]


def test_remarks_refuse_a_kind_they_do_not_know(tmp_path):
    remarks = Remarks(tmp_path / "r.db")
    with pytest.raises(ValueError, match="lovely"):
        remarks.add("lovely", channel="panel", conversation="c", question="q")
    assert remarks.all() == []
    assert remarks.add("right", channel="webchat", conversation="c", question="q") == 1
    assert Remarks(tmp_path / "r.db").all()[0].reply is None


# ---- sending texts, in process


class Gateway:
    def __init__(self):
        self.sent = []
        self.fault = None

    async def send(self, number, text):
        if self.fault:
            raise self.fault
        self.sent.append((number, text))


@pytest.fixture
def texting(tmp_path):
    import asyncio
    import types

    from bot.access.throttle import Budget
    from bot.panel import asking

    gateway, loop = Gateway(), asyncio.new_event_loop()
    asking.TEXTS, kept = Budget(3, 600), asking.TEXTS

    def send(**body):
        ctx = types.SimpleNamespace(texting=gateway)
        who = types.SimpleNamespace(name="ann")
        request = types.SimpleNamespace(
            app=types.SimpleNamespace(ctx=ctx),
            ctx=types.SimpleNamespace(who=who),
            body=json.dumps(body).encode(),
        )
        # The handler itself, under the check of who asks.
        answer = loop.run_until_complete(asking.text.__wrapped__(request))
        return answer.status, json.loads(answer.body)

    yield gateway, send
    asking.TEXTS = kept
    loop.close()


def test_text_is_the_short_form_of_the_same_answer(texting):
    gateway, send = texting
    items = [
        {
            "item": "kettle",
            "facts": {},
            "destination": decide(BOOK, "oxmere", DAY, "kettle").destination,
        }
    ]
    status, told = send(number="07700 900123", items=items, district="oxmere", on="2026-12-01")
    expected = table.outcome(BOOK, "kettle", decide(BOOK, "oxmere", DAY, "kettle"), DAY)["short"]
    assert (status, told) == (200, {"sent": expected})
    assert gateway.sent == [("07700900123", expected)]


def test_text_previews_without_sending(texting):
    gateway, send = texting
    items = [{"item": None, "asked_as": "didgeridoo", "destination": "residual"}]
    status, told = send(preview=True, items=items, district="oxmere")
    assert status == 200 and told["short"].startswith("Didgeridoo") and gateway.sent == []


def test_text_that_fails_names_no_number_and_limits_hold(texting, caplog):
    from bot.panel.texting import NotSent

    gateway, send = texting
    takeaway = {"facts": {"food_origin": "takeaway"}, "destination": "residual"}
    body = {"number": "07700900123", "district": "oxmere", "on": "2026-12-01"}
    body["items"] = [{"item": "pizza_box", **takeaway}]
    assert send(**{**body, "number": "12"})[0] == 400
    gateway.fault = NotSent("The gateway is down.")
    status, told = send(**body)
    assert status == 502 and told["error"].endswith("The gateway is down.")
    gateway.fault = RuntimeError("no route to 07700900123")
    status, told = send(**body)
    assert status == 502 and "07700" not in str(told) + caplog.text
    gateway.fault = None
    assert send(**body)[0] == 200
    status, told = send(**body)
    assert status == 429 and "Wait" in told["error"]
