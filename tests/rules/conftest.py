"""What the tests of the rules share: the demo book, read and proved once."""

from __future__ import annotations

from datetime import date

import pytest

from actions.reply import Answered
from actions.short import short_answer
from actions.state import Thing
from rules.check import prove
from rules.loader import BOOK, load_texts, read_files

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="session")
def today():
    return TODAY


@pytest.fixture(scope="session")
def demo_texts():
    return read_files(BOOK)


@pytest.fixture(scope="session")
def demo(demo_texts):
    return load_texts(demo_texts)


@pytest.fixture(scope="session")
def short_form(demo):
    """A decision as the text message a resident gets."""

    def said(decision):
        thing = Thing(decision.item, "it", TODAY.isoformat())
        return short_answer(demo, Answered(thing, decision))

    return said


@pytest.fixture(scope="session")
def proof(demo, short_form):
    return prove(demo, TODAY, short_form)
