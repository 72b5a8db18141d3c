"""A rule book of a few lines, sound as it stands, for planting one mistake at a time."""

from __future__ import annotations

from rules.loader import load_texts

SCHEME = """\
about: The scheme.
owner: Office
reviewed: 2026-06-01
scheme:
  name: Test partnership
  county: Nowhere
  starts: 2026-04-01
  phone: 01632 960118
  hours: Monday to Friday
  web: https://nowhere.example
  plant: Test plant
fallback:
  goes: residual
  why: We have no rule for this.
  prepare: []
  source: Policy 1
destinations:
  card_bin: {name: card, kind: bin, phrase: in the card bin, short: card, care: 10, spoils: 50}
  residual: {name: rubbish, kind: bin,
    phrase: in the rubbish bin, short: rubbish, care: 20, spoils: 0}
  battery_bag: {name: bag, kind: bag,
    phrase: in a clear bag, short: clear bag, care: 40, spoils: 20}
  centre: {name: centre, kind: place, phrase: to a centre, short: centre, care: 60, spoils: 10}
  hold: {name: hold, kind: hold, phrase: nowhere yet, short: nowhere yet, care: 80, spoils: 40}
streams:
  card: {name: card, takes: Card., refuses: Wet card., becomes: Paper., source: Policy 3}
  residual: {name: rubbish, takes: The rest., refuses: Batteries.,
    becomes: Power., source: Policy 1}
districts:
  north:
    name: North
    containers:
      - {code: card_bin, called: blue bin, takes: [card]}
      - {code: residual, called: black bin, takes: [residual]}
  south:
    name: South
    containers:
      - {code: card_bin, called: green bin, takes: [card]}
      - {code: residual, called: red bin, takes: [residual]}
      - {code: battery_bag, called: clear bag, takes: [residual]}
dangers:
  general:
    name: a danger
    never: Do not bin it.
    live: []
    emergency: It is dangerous.
    prepare: [Call 999.]
    source: Policy 2
  battery:
    name: batteries
    never: Never put it in any bin.
    live: [hot]
    emergency: It can burn.
    prepare: [Call 999.]
    source: Policy 2
topics:
  tag:
    title: Tags
    says: [what is the tag]
    answer: It is advice.
    short: It is advice.
    source: Policy 9
changes:
  lid:
    on: 2027-01-01
    districts: [north]
    answer: The lid changes.
    short: The lid changes.
    source: Policy 9
"""

ITEMS = """\
about: The items.
owner: Office
reviewed: 2026-06-02
section: All
conditions:
  soiling:
    question: Is the {item} clean?
    again: Is there food on it?
    short: Clean?
    values:
      clean: {label: Clean, assumed: it is clean, says: [clean]}
      dirty: {label: Dirty, says: [dirty]}
  origin:
    question: Where is it from?
    again: Did you cook it?
    short: From where?
    values:
      home: {label: Home, says: [home]}
      takeaway: {label: Takeaway, says: [takeaway]}
  damage:
    question: Is it damaged?
    again: Is it swollen?
    short: Damaged?
    values:
      sound: {label: Sound, says: [sound]}
      damaged: {label: Damaged, says: [damaged]}
tables:
  paper:
    assume: {soiling: clean}
    source: Policy 3
    outcomes:
      - when: {soiling: clean}
        goes: card
        prepare: [Flatten it.]
        why: Clean card is paper again.
      - when: {soiling: dirty}
        goes: residual
        why: Grease spoils paper.
items:
  box:
    name: box
    also: [carton]
    follows: paper
  letter:
    name: letter
    follows: paper
  pizza_box:
    name: pizza box
    ask: [origin]
    source: Policy 3
    why: Takeaway boxes are greasy.
    outcomes:
      - when: {origin: home}
        see: box
      - when: {origin: takeaway}
        goes: residual
  battery:
    name: battery
    hazard: battery
    ask: [damage]
    source: Policy 2
    why: A battery can burn.
    districts:
      south:
        because: South has a bag.
        ask: [damage]
        outcomes:
          - when: {damage: sound}
            goes: battery_bag
            or: [centre]
          - when: {damage: damaged}
            goes: hold
    outcomes:
      - when: {damage: sound}
        goes: centre
      - when: {damage: damaged}
        goes: hold
"""

TEXTS = {"scheme.yml": SCHEME, "items.yml": ITEMS}


def planted(file, old, new):
    """The small book's texts with one passage replaced, which must stand there once."""
    assert TEXTS[file].count(old) == 1, f"{TEXTS[file].count(old)} times in {file}: {old}"
    return {**TEXTS, file: TEXTS[file].replace(old, new)}


def small_book():
    return load_texts(TEXTS)


def line_of(text, passage, nth=1):
    """The number of the line on which the nth occurrence of a passage starts."""
    at = -1
    for _ in range(nth):
        at = text.index(passage, at + 1)
    return text.count("\n", 0, at) + 1
