"""A danger that is happening now is told from words that only look like one."""

from __future__ import annotations

import pytest
from reading import dangers

from bot.language.reader import Reader
from bot.language.spelling import english

LIVE = """\
my scooter battery is smoking in the hall
my scooter battery is smokin
the ebike battery has caught fire
ebike battery cought fire
laptop battery hissing
laptop battery is hissin
phone battery is getting hot
my phone battry is red hot
power bank on fire
the powerbank is on fier
there are flames coming out of the bin
flamse coming out of the bin
bin is on fire help
my bin is alight
the bin is smouldering
the bin lorry is full of smoke
i can smell gas
i can smel gas
smell of gas from the gas bottle
the gas cylinder is leaking gas
gas bottle hissing
gas bottle wont stop hissing
the gas bottle has not stopped hissing
camping gas canister hisssing
gas is escaping from the bottle
the vape is burning
vape exploded
vape is sparking
the charger is sparking
charger throwing sparks
e-bike battery swelling with heat
ebike battery swollen and hot
e-scooter battery too hot to touch
tool battery getting hotter
drill battery is sizzling
laptop is smoking
laptop smoking and popping
the battery is melting
batteries in the drawer are fizzing
ash has set fire to the bin
hot ash set the bin on fire
the barbecue set the shed on fire
disposable bbq is still on fire
bleach and something else are fuming
pool chemicals giving off fumes
the weedkiller is bubbling and smoking
white spirit caught fire
petrol can on fire
the petrol is alight
firework is smoking
a firework is fizzing in the bin
flare is lit
my daughter swallowed a tablet
bleach splashed in my eyes
paint stripper fumes making me dizzy
chemicals and i cannot breathe
there is smoke pouring from the bin
smoke coming from the battery
smoke comming from the battery
my lithium battery is smokeing
HELP BATTERY SMOKING
BATTERY ON FIRE!!!
the tumble dryer is on fire
fridge caught fire
kitchen is in flames
the sofa is on fire
mattress is smouldering
recycling is ablaze
the caddy is burning now
battery is about to explode
gas bottle going to explode
battery pack hot and swollen
power bank overheating
battery in my phone is boiling hot and whistling
grenade is ticking
smoke billowing out of the wheelie bin
it's hissing at me
it is smoking
its smoking
it's on fire
it just exploded
something in my bin is burning
the battery wont stop smoking
e bike batery smoking what bin
aerosol is hissing
fire extinguisher is leaking gas
helium canister hissing
my bin has gone up in flames
flames from the toaster
toaster is sparking
the kettle is smoking
newspapers, jam jars and a battery that is smoking
not a joke, the battery is on fire
where do I put a battery that's on fire
tablets - he took too many
a thermometer broke and he swallowed the mercury
""".splitlines()

HARMLESS = """\
smoke alarm
old smoke alarms
smoke detector
smoke detectr
fire alarm
fire extinguisher
empty fire extinguisher
fire blanket
fire guard
fire lighters
firelighters
firewood
fireworks
used fireworks
hot sauce bottle
a bottle of hot sauce
hot water bottle
hot chocolate tin
hot drink cup
hot dog tin
hot glue gun
hot tub chemicals
gas bill
old gas bills
gas meter
gas cooker
gas hob
gas oven
gas boiler
gas fire
gas barbecue
gas bottle
empty gas bottle
gas cylinder
electric fire
could it catch fire
could a battery catch fire
do batteries catch fire in the lorry
might it catch fire in the truck
can vapes catch fire
will it explode in the bin
would a gas bottle explode
laptop battery not smoking
battery, it is not smoking or hissing
it isn't on fire
it isnt on fire
no smoke, no flames, just a dead battery
not hissing
no smell of gas
there is no smell of gas
it has stopped smoking
i stopped smoking, where do my ashtrays go
i quit smoking, what about my vape
gave up smoking so have an old vape
smoking jacket
smoking pipe
smoked salmon packet
smoked mackerel skin
burning question: crisp packets?
wood burner ash
log burner ash
ash from the fire
ash from a fire
wood burning stove ash
candle
sparkler
used sparklers
sparkling water bottle
spark plug
flame retardant sofa
sofa with its fire label
toy grenade
bath bomb
fire station leaflet
hot air fryer
hot plate
hot cross bun
fire pit
used to smoke, cigarette ends
was on fire last week
the bin was on fire last month
if it starts smoking what do i do
what if the battery catches fire
in case it catches fire
risk of fire from vapes
hot ash
ash still hot
is ash hot
ashes from the fire last night
burnt toast
burnt saucepan
burnt food on the tray
fairy lights with sparkling stars
matches
lighter
cigarette ends
leaking battery
swollen battery
leaking milk carton
it never caught fire
fizzy drink can
popping candy packet
popcorn bag
gone off milk
milk gone off
whistling kettle
pop bottle
steam iron
glow sticks
melted candle wax
boiling pan
incense sticks
fire surround
fire door
fire grate
fireplace
bonfire ash
barbecue ash from last week
""".splitlines()

LIVE += [
    "my battery hasnt stopped smoking",
    "my son swallowed a button battery",
    "the dog has eaten some rat poison",
    "theres a fire in my bin",
    "strong smell off gas in the kitchen",
]
HARMLESS += [
    "my iron caught fire last year",
    "burning candle jar",
    "smoking cessation leaflet",
    "flame effect fire",
]


def test_there_are_enough() -> None:
    assert len(set(LIVE)) >= 60
    assert len(set(HARMLESS)) >= 60


@pytest.mark.parametrize("text", LIVE)
def test_live_danger_is_found(text: str, reader: Reader) -> None:
    assert dangers(reader, text)


@pytest.mark.parametrize("text", HARMLESS)
def test_look_alike_is_no_danger(text: str, reader: Reader) -> None:
    assert dangers(reader, text) == []


def test_every_general_sign_counts_alone(reader: Reader) -> None:
    """Each phrase the book lists as a sign of danger is one by itself, shouted or not."""
    missed = [
        sign
        for sign in reader.context.lexicon.book.live_signs
        if not dangers(reader, f"the thing, {sign}") or not dangers(reader, sign.upper())
    ]
    assert not missed


def test_no_harmless_phrase_of_the_book_counts(reader: Reader) -> None:
    wrong = {
        text: dangers(reader, text)
        for text in reader.context.lexicon.book.not_live
        if dangers(reader, text)
    }
    assert not wrong


def test_no_name_of_the_book_is_a_danger(reader: Reader) -> None:
    """A thing's bare name never calls the fire brigade."""
    book = reader.context.lexicon.book
    names = [n for i in book.items.values() for n in (i.name, *i.also)]
    wrong = {n: dangers(reader, n) for n in names if dangers(reader, n)}
    assert not wrong


@pytest.mark.parametrize("word", ["smoking", "hissing", "sparking", "smouldering", "burning"])
def test_spelling_of_danger_words(word: str, reader: Reader) -> None:
    """One letter left out, doubled or swapped with the next, inside the word: a word that is then
    another English one ("sparing") may be missed."""
    typed = set()
    for k in range(1, len(word) - 1):
        typed |= {word[:k] + word[k + 1 :], word[:k] + word[k] + word[k:]}
        typed.add(word[:k] + word[k + 1] + word[k] + word[k + 2 :])
    typed -= {word, *english()}
    missed = sorted(t for t in typed if not dangers(reader, f"the battery is {t}"))
    print(word, len(typed), missed)
    assert len(missed) <= len(typed) / 10, missed
