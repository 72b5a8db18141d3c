"""Phone numbers are personal data: hashes only, nowhere else a number."""

from __future__ import annotations

import json
import re

import pytest
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives import hmac as crypto_hmac

from bot.processes import Failed
from bot.sms import numbers
from tests.bot.sms.webhook import ANN, BEN, SendAddress, sending

SPELT = re.compile(rb"7700[ %20+\-]*900[ %20+\-]*(111|222)")


def test_no_number_is_kept_or_logged(make, tmp_path, caplog, capfd):
    caplog.set_level("DEBUG")
    away = SendAddress(*[500] * 3)
    hook = make(sending(away, wait=0.3, method="GET"))
    for number, spelling in enumerate(["07700 900111", "+447700900111", "00447700900111"]):
        hook.text(spelling, "tins", f"m{number}")
    hook.call({"from": ANN}, None)
    hook.call("from=07700900111", None)
    hook.call(None, {"from": ANN, "text": "x"}, secret="wrong")
    hook.call(f"07700900111&{ANN}", None)
    hook.stub.says = lambda text: 1 / 0
    hook.call({"from": BEN, "text": "x"})
    hook.stub.says = None
    away.sent(2)
    checked = 0
    for path in (tmp_path / "data").iterdir():
        checked += 1
        assert not SPELT.search(path.read_bytes()), path
    assert checked >= 3
    out, err = capfd.readouterr()
    logged = "\n".join(r.getMessage() + str(r.exc_text or "") for r in caplog.records)
    assert "ZeroDivisionError" in logged + err or "failed" in logged
    assert "did not take a message" in logged
    assert not SPELT.search((logged + out + err).encode())
    away.stop()


def test_names_are_keyed_hashes_of_the_number(tmp_path):
    one, other = tmp_path / "one", tmp_path / "other"
    for folder in (one, other):
        folder.mkdir()
    first = numbers.Numbers(one)
    assert (one / "sms.key").stat().st_mode & 0o777 == 0o600
    told = json.dumps(["number", "+447700900111"]).encode()
    key = (one / "sms.key").read_bytes()
    maker = crypto_hmac.HMAC(key, hashes.SHA256())  # OpenSSL's, through PyPI cryptography
    maker.update(told)
    by_openssl = maker.finalize().hex()
    assert first.name(ANN) == by_openssl
    assert numbers.Numbers(one).name(ANN) == first.name(ANN)
    assert numbers.Numbers(other).name(ANN) != first.name(ANN)
    assert first.name(BEN) != first.name(ANN)


@pytest.mark.parametrize(
    "spelt",
    ["07700900111", "07700 900 111", "+447700900111", "447700900111", "0044 7700 900111",
     "+44 (0)7700 900-111", "(07700) 900111", "tel:+44-7700-900111"],
)  # fmt: skip
def test_every_spelling_of_a_number_is_one_person(spelt):
    """ITU-T E.164 form, read by PyPI phonenumberslite."""
    assert numbers.normal(spelt, "GB") == "+447700900111"


def test_what_is_no_number_is_kept_apart():
    assert numbers.normal("Parcel Firm", "GB") == "parcelfirm"
    assert numbers.normal("1 555 010 0123", "US") == "+15550100123"


def test_broken_key_says_what_is_lost_with_it(tmp_path):
    (tmp_path / "sms.key").write_bytes(b"short")
    with pytest.raises(Failed, match=r"sms\.key is no key of 32 bytes"):
        numbers.Numbers(tmp_path)
