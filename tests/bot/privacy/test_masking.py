"""What is masked in a message and what is not."""

from __future__ import annotations

import random
import statistics
import time

import pytest
from faker import Faker
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.privacy import measure
from bot.privacy.mask import findings, masked

KEPT = """
a jack for a car
rose bush
olive oil
the gas bill
Bill
a bill from the garage
PP 5 tub
2 pots and 3 lids
no. 5 plastic
number 5 on the bottom
plastic number 2
AA batteries
size 9 shoes
7 bags of leaves
C/PAP 84
5 litres of paint
10 AA batteries and a 9V one
a GU10 bulb, an E27 bulb, a B22 5ft tube
2 hard drives
1 hard drive
2 bags on the street
10 old road signs
I'm confused
im moving house
thanks all
thank you very much
miss the bins
Hallow End recycling centre
I live in Oxmere
do you take film from 31 March 2027
barcode 5012345678900
a 1960s sideboard
victoria sponge tin
daisy chain and a holly wreath
heather in a pot
my mum will want it back
my friend can take it
the bin was left at 7am
open at 8.30
flat 2 litre bottles
flat 32 inch tv
4 x 4 tyre
what goes in the bin with the yellow lid
nobody took the boots
""".strip().splitlines()

MASKED = [
    ("my name is John Smith and i have a pizza box", "my name is [name] and i have a pizza box"),
    ("im dave, where do batteries go", "im [name], where do batteries go"),
    ("this is Sarah speaking, is foil ok", "this is [name] speaking, is foil ok"),
    ("Mrs O'Brien at 14 Alder Row wants it", "Mrs [name] at [house number] wants it"),
    ("thanks, Priya", "thanks, [name]"),
    ("thanks dave", "thanks [name]"),
    ("does Sarah's pizza box go in", "does [name]'s pizza box go in"),
    ("for my neighbour Bill, a fridge", "for my neighbour [name], a fridge"),
    ("my neighbour rose has a mattress", "my neighbour [name] has a mattress"),
    ("MY NAME IS JOHN SMITH", "MY NAME IS [name]"),
    ("Mohammed Iqbal here", "[name] here"),
    ("J. Smith speaking", "[name] speaking"),
    ("which bin? Regards, J Smith", "which bin? Regards, [name]"),
    ("14 alder row pizza box", "[house number] pizza box"),
    ("flat 3, number 12 mill lane", "[house number], [house number]"),
    ("I live at 12 and number 14 is full", "I live at [house number] and number 14 is full"),
    ("next door at no 7", "next door at [house number]"),
    ("ring me on 07 7 0 0 900 123", "ring me on [phone]"),
    ("07700-900-123 or o1632 960 119", "[phone] or [phone]"),
    ("call me on 960119 please", "call me on [phone] please"),
    ("oh seven seven double oh nine hundred one two three", "[phone]"),
    ("my postcode is ox12", "my postcode is [postcode]"),
    ("mail jo.smith@example.com", "mail [email]"),
    ("jo at example dot com", "[email]"),
]


@pytest.mark.parametrize("text", KEPT)
def test_question_without_a_person_stays_as_it_is(text):
    assert masked(text) == text


@pytest.mark.parametrize(("text", "left"), MASKED)
def test_person_is_left_out(text, left):
    assert masked(text) == left


# The six forms of a postcode that the Post Office's Address File Guide and BS 7666 give as
# examples (from memory).
@pytest.mark.parametrize(
    "code", ["M1 1AA", "M60 1NW", "CR2 6XH", "DN55 1PT", "W1A 1HQ", "EC1A 1BB"]
)
@pytest.mark.parametrize("spelt", [str, str.lower, lambda c: c.replace(" ", "")])
def test_every_form_of_postcode(code, spelt):
    assert masked(f"nearest centre to {spelt(code)}?") == "nearest centre to [postcode]?"


def test_invented_postcodes_and_mail_addresses_are_all_found():
    """By `faker`, an independent source of British postcodes and of addresses."""
    fake = Faker("en_GB")
    fake.seed_instance(7)
    for _ in range(300):
        code, address = fake.postcode(), fake.safe_email()
        assert masked(f"we are in {code}, is it ok") == "we are in [postcode], is it ok"
        assert masked(f"write to {address} please") == "write to [email] please"


def test_numbers_for_drama_in_any_spacing():
    """07700 900000 to 900999 and 01632 960000 to 960999 are those Ofcom keeps for drama."""
    chance = random.Random(3)
    for _ in range(300):
        area, tail = chance.choice([("07700", "900"), ("01632", "960")])
        digits = f"{area}{tail}{chance.randrange(1000):03d}"
        spaced = digits[0] + "".join(chance.choice(["", "", "", " ", "-"]) + d for d in digits[1:])
        assert masked(f"ring {spaced} about it") == "ring [phone] about it", spaced


def test_recall_and_false_masks_of_the_measured_sets():
    """Floors below what `python -m bot.privacy.measure` prints, on messages nobody tunes on."""
    there = [m for m in measure.made(seed=5, each=9) if m.set == "unseen"]
    found = measure.recall(there)
    for kind, floor in (("name", 0.8), ("house number", 0.7)):
        cells = [v for (_, _, k), v in found.items() if k == kind]
        assert sum(b for _, b in cells) / sum(a for a, _ in cells) >= floor, (kind, cells)
    for kind in ("phone", "email", "postcode"):
        cells = [v for (_, _, k), v in found.items() if k == kind]
        assert cells and all(a == b for a, b in cells), (kind, cells)
    held = [t for name in ("looked_at", "unseen") for t in measure.without_people()[name]]
    assert sum(bool(findings(t)) for t in held) / len(held) < 0.005


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=200))
def test_any_text_can_be_masked_and_masking_again_changes_nothing(text):
    once = masked(text)
    assert masked(once) == once
    assert all(text[f.start : f.end].strip() for f in findings(text))


def test_masking_a_made_message_again_changes_nothing():
    for message in measure.made(seed=9, each=3):
        once = masked(message.text)
        assert masked(once) == once, message.text


def test_takes_less_than_a_millisecond():
    texts = [m.text for m in measure.made(seed=5, each=1)]
    masked(texts[0])
    spent = []
    for text in texts:
        began = time.perf_counter()
        masked(text)
        spent.append(time.perf_counter() - began)
    assert statistics.median(spent) < 0.001


def test_long_text_without_spaces_takes_no_time():
    for text in (
        "1 " * 2500,
        "a." * 2500,
        "07" * 2500,
        "at " * 1600,
        "a at " * 1000,
        "12 alder " * 550,
    ):
        began = time.perf_counter()
        masked(text)
        assert time.perf_counter() - began < 1.0, text[:20]
