"""The book and the program against facts from outside the project. Each names its source.

"Memory" marks what was written down from general knowledge and not read in the source.
"""

from __future__ import annotations

import random
from datetime import date

import gsm0338
import pytest
import smsutil
import yaml
from small_book import ITEMS, TEXTS, line_of

from rules import Decision, decide, sms
from rules.check import prove
from rules.loader import load_texts
from rules.names import singular

DAY = date(2026, 12, 1)
DISTRICTS = ("pellbrook", "oxmere", "tarnside")

# Commission Decision 97/129/EC, annexes I to VII: number, abbreviation, material.
# Memory, except 2, 4, 5, 20, 22, 40 and 50 (second-hand). 7 "other": ASTM D7611 (memory).
PUBLISHED_MARKS = [
    ("1", "PET", "mark_pet"),
    ("2", "HDPE", "mark_hdpe"),
    ("3", "PVC", "mark_pvc"),
    ("4", "LDPE", "mark_ldpe"),
    ("5", "PP", "mark_pp"),
    ("6", "PS", "mark_ps"),
    ("20", "PAP", "mark_pap"),
    ("21", "PAP", "mark_pap"),
    ("22", "PAP", "mark_pap"),
    ("40", "FE", "mark_fe"),
    ("41", "ALU", "mark_alu"),
    ("60", "TEX", "mark_tex"),
    ("61", "TEX", "mark_tex"),
    ("70", "GL", "mark_gl"),
    ("71", "GL", "mark_gl"),
    ("72", "GL", "mark_gl"),
    *[(str(n), "C/PAP", "mark_c_pap") for n in range(80, 86)],
]


@pytest.mark.parametrize(("number", "letters", "item"), PUBLISHED_MARKS)
def test_mark_has_its_published_number_and_letters(demo, number, letters, item):
    mark = demo.items[item].mark
    assert number in mark.numbers
    assert letters in mark.letters


@pytest.mark.parametrize(
    ("number", "item"), [("50", "mark_for"), ("51", "mark_cork"), ("90", "mark_c_foil")]
)
def test_mark_has_its_published_number(demo, number, item):
    """Decision 97/129/EC: 50 wood FOR, 51 cork FOR, 90 plastic/aluminium (50 second-hand)."""
    assert number in demo.items[item].mark.numbers


def test_no_number_of_a_mark_is_given_twice(demo):
    """One number is one material (Decision 97/129/EC)."""
    numbers = [n for i in demo.items.values() if i.mark for n in i.mark.numbers]
    assert len(numbers) == len(set(numbers))


def test_mark_numbers_lie_in_their_published_ranges(demo):
    """Decision 97/129/EC: 1-19 plastics, 20-39 paper, 40-49 metal, 50-59 wood, 60-69 textiles,
    70-79 glass, 80-98 composites (memory)."""
    ranges = {
        "plastic": range(1, 20),
        "card": range(20, 40),
        "metal": range(40, 50),
        "wood": range(50, 60),
        "fabric": range(60, 70),
        "glass": range(70, 80),
    }
    checked = 0
    for item in demo.items.values():
        material = item.mark.gives.get("material") if item.mark else None
        for number in item.mark.numbers if material else ():
            assert int(number) in ranges[material], item.id
            checked += 1
    assert checked >= 15


def test_composites_are_written_with_c(demo):
    """Decision 97/129/EC, annex VII: C/ and the main material."""
    composites = [
        i for i in demo.items.values() if i.mark and any(80 <= int(n) <= 98 for n in i.mark.numbers)
    ]
    assert composites
    assert all(letters.startswith("C/") for i in composites for letters in i.mark.letters)


# EN 50419, the crossed-out wheeled bin: electrical and battery products go in no bin (memory).
# Things that carry it, by what they are and not by what the book says of them.
CROSSED_OUT = [
    "kettle",
    "toaster",
    "hair_dryer",
    "iron",
    "radio",
    "remote_control",
    "electric_toothbrush",
    "battery_toy",
    "musical_card",
    "lamp",
    "fairy_lights",
    "torch",
    "cable",
    "charger",
    "phone",
    "tablet_computer",
    "laptop",
    "printer",
    "game_console",
    "headphones",
    "camera",
    "drone",
    "smart_watch",
    "power_tool",
    "smoke_alarm",
    "vape",
    "power_bank",
    "household_battery",
    "nine_volt_battery",
    "button_battery",
    "hearing_aid_battery",
    "rechargeable_battery",
    "laptop_battery",
    "phone_battery",
    "tool_battery",
    "ebike_battery",
    "scooter_battery",
    "car_battery",
    "washing_machine",
    "tumble_dryer",
    "cooker",
    "dishwasher",
    "fridge",
    "television",
    "monitor",
    "microwave",
    "vacuum_cleaner",
    "energy_saving_bulb",
    "led_bulb",
    "fluorescent_tube",
    "electric_bike",
    "electric_scooter",
]


@pytest.mark.parametrize("item", CROSSED_OUT)
def test_crossed_out_bin_goes_in_no_bin(demo, item):
    for district in DISTRICTS:
        for day in demo.turning_days():
            table = demo.items[item].table_for(district)
            for row in table.rows:
                for goes in (row.goes, *row.alternatives):
                    kind = demo.destinations[goes].kind if goes in demo.destinations else "bin"
                    assert kind != "bin", (district, str(row.where))
            assert isinstance(decide(demo, district, day, item, {"damage": "sound"}), Decision)


# GOV.UK, "Battery waste: retailer and distributor responsibilities" (read): shops that sell 32 kg
# a year must take any portable battery back free; they need not take car or industrial batteries.
PORTABLE = [
    "household_battery",
    "nine_volt_battery",
    "button_battery",
    "hearing_aid_battery",
    "rechargeable_battery",
]


@pytest.mark.parametrize("item", PORTABLE)
def test_portable_battery_can_go_back_to_a_shop(demo, item):
    for district in DISTRICTS:
        decision = decide(demo, district, DAY, item)
        assert "shop_take_back" in (decision.destination, *decision.alternatives), district


@pytest.mark.parametrize("item", ["car_battery", "ebike_battery", "ev_battery"])
def test_shop_need_not_take_a_vehicle_battery(demo, item):
    for district in DISTRICTS:
        decision = decide(demo, district, DAY, item, {"damage": "sound"})
        assert "shop_take_back" not in (decision.destination, *decision.alternatives)


@pytest.mark.parametrize("item", ["laptop_battery", "power_bank", "ebike_battery"])
def test_damaged_lithium_battery_is_kept_outdoors(demo, item):
    """Public advice of councils and fire services (read): outdoors, apart from other things."""
    decision = decide(demo, "pellbrook", DAY, item, {"damage": "damaged"})
    assert any("outdoors" in step for step in decision.prepare)
    assert demo.destinations[decision.destination].kind not in ("bin", "bag", "place")


# OMG, Decision Model and Notation, hit policy "unique": exactly one rule for each combination of
# inputs; no rule is a gap, two rules are an overlap. A table of two inputs, so four combinations.
CELLS = [(a, b) for a in ("home", "takeaway") for b in ("sound", "damaged")]


def dmn_table(rows):
    lines = "".join(
        f"      - when: {{origin: {a}, damage: {b}}}\n        goes: residual\n" for a, b in rows
    )
    head = "  thing:\n    name: thing\n    ask: [origin, damage]\n    why: So.\n    source: DMN\n"
    head += "    outcomes:\n"
    return {**TEXTS, "items.yml": ITEMS + head + lines}


@pytest.mark.parametrize("size", range(1, 16))
def test_unique_hit_policy(size):
    """All sixteen sets of rules but the empty one: sound only if each combination has its rule."""
    rows = [cell for n, cell in enumerate(CELLS) if size & (1 << n)]
    what = [f.what for f in prove(load_texts(dmn_table(rows)), DAY).errors]
    assert any("no row of 'thing'" in w for w in what) is (len(rows) < 4)
    assert not any("more than one row" in w for w in what)


@pytest.mark.parametrize("twice", CELLS)
def test_two_rules_for_one_combination_overlap(twice):
    texts = dmn_table([*CELLS, twice])
    errors = prove(load_texts(texts), DAY).errors
    overlaps = [f for f in errors if "more than one row of 'thing'" in f.what]
    assert len(overlaps) == 1
    passage = f"- when: {{origin: {twice[0]}, damage: {twice[1]}}}"
    assert overlaps[0].place.line == line_of(texts["items.yml"], passage, 2)


# 3GPP TS 23.038 (memory): 160 characters in one message, 153 in each part of a longer one; 70 and
# 67 where a character is outside the alphabet; the extension table's count two.
EXTENDED = "^{}[]~|\\€\f"


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("", 1),
        ("a" * 160, 1),
        ("a" * 161, 2),
        ("a" * 306, 2),
        ("a" * 307, 3),
        ("€" * 80, 1),
        ("€" * 81, 2),
        ("a" * 159 + "€", 2),
        ("\u2019" * 70, 1),
        ("\u2019" * 71, 2),
        ("\u2019" * 134, 2),
        ("\u2019" * 135, 3),
        ("a" * 134 + "\u2019", 3),
        ("é" * 160, 1),
        ("ê" * 71, 2),
    ],
)
def test_parts_of_a_text_message(text, parts):
    assert sms.parts(text) == parts


def test_alphabet_is_that_of_the_package_gsm0338():
    """PyPI gsm0338, an independent codec of the alphabet: the same characters, each as wide."""
    codec = gsm0338.Codec()
    checked = 0
    for number in range(0x3000):
        ch = chr(number)
        if ch == "\x1b":
            continue
        try:
            width = len(codec.encode(ch)[0])
        except UnicodeError:
            width = None
        units, sizes = sms.widths(ch)
        ours = units[0] if sizes == sms.GSM else None
        assert ours == width, repr(ch)
        checked += width is not None
    assert checked == 127 + len(EXTENDED)


def test_number_of_parts_is_that_of_the_package_smsutil():
    """PyPI smsutil, an independent splitter."""
    chance = random.Random(23038)
    letters = "abcdefghij ABC.,12'" * 4 + "éàü£" + EXTENDED
    wide = letters + "\u2019“\u2013ê漢😀"
    for _ in range(600):
        pool = chance.choice((letters, letters, wide))
        text = "".join(chance.choice(pool) for _ in range(chance.randint(1, 480)))
        assert sms.parts(text) == max(1, len(smsutil.split(text).parts)), repr(text)


def test_real_answers_take_no_more_parts_than_smsutil_says(demo, short_form):
    """The answers a resident gets by text, counted by PyPI smsutil: two parts at most."""
    for district in DISTRICTS:
        for item in demo.items:
            decision = decide(demo, district, DAY, item)
            if isinstance(decision, Decision):
                assert len(smsutil.split(short_form(decision)).parts) <= 2, item


@pytest.mark.parametrize(
    ("plural", "one"),
    [
        ("boxes", "box"),
        ("batteries", "battery"),
        ("dishes", "dish"),
        ("glasses", "glasses"),
        ("bottles", "bottle"),
        ("potatoes", "potato"),
        ("glass", "glass"),
        ("gas", "gas"),
        ("bus", "bus"),
    ],
)
def test_plain_plurals(plural, one):
    """English spelling, memory."""
    assert singular(plural) == one


def test_files_are_plain_yaml_to_another_reader(demo, demo_texts):
    """PyYAML's own loader reads the same entries from the files as ours."""
    items = {}
    for text in demo_texts.values():
        items.update(yaml.safe_load(text).get("items") or {})
    assert set(items) == set(demo.items)
    for key, data in items.items():
        assert demo.items[key].name == str(data["name"])
        assert demo.items[key].also == tuple(map(str, data.get("also") or ()))
