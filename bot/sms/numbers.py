"""Phone numbers as they are kept: as keyed hashes, and sealed while a message waits to be sent.

A number is personal data (UK GDPR article 4). The hash is HMAC-SHA-256 (RFC 2104,
FIPS 180-4) under a key that is made on the first run: without the key the few billion possible
numbers cannot be tried.
"""

from __future__ import annotations

import base64
import contextlib
import hashlib
import hmac
import json
import os
import re
import secrets
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import phonenumbers
from cryptography.fernet import Fernet, InvalidToken

from bot.processes import Failed

KEY = "sms.key"
SIZE = 32
"""Bytes of the key."""


class Numbers:
    """What turns numbers into names. `country` is the ISO code of numbers written without one."""

    def __init__(self, data: Path, country: str = "GB") -> None:
        self.key = key_of(data / KEY)
        self.country = country
        self.safe = Fernet(base64.urlsafe_b64encode(self.mac("outbox")))

    def mac(self, what: str, *parts: str) -> bytes:
        """A keyed hash of some words; `what` keeps hashes of different use apart."""
        told = json.dumps([what, *parts]).encode()
        return hmac.new(self.key, told, hashlib.sha256).digest()

    def name(self, number: str) -> str:
        """The name of a texter: the same for every way of writing the number."""
        return self.mac("number", normal(number, self.country)).hex()

    def demo_secret(self) -> str:
        """The webhook's secret where nothing is set: who can read the data folder knows it."""
        return self.mac("demo secret").hex()

    def seal(self, told: dict[str, str]) -> bytes:
        """Words that only this installation can read."""
        return self.safe.encrypt(json.dumps(told).encode())

    def unseal(self, sealed: bytes) -> dict[str, str] | None:
        """The words that were sealed, `None` under another key."""
        try:
            told: dict[str, str] = json.loads(self.safe.decrypt(sealed))
        except (InvalidToken, ValueError):
            return None
        return told


def key_of(path: Path) -> bytes:
    """The key in a file that only its owner can read; it is made if there is none."""
    try:
        if not path.exists():
            make(path)
        key = path.read_bytes()
    except OSError as error:
        raise Failed(
            f"{path} cannot be used ({error.strerror}). Check the folder's rights."
        ) from None
    if len(key) != SIZE:
        raise Failed(
            f"{path} is no key of {SIZE} bytes. Bring it back from a copy; if it is deleted, a new "
            "one is made, and who texted STOP and who lives where is forgotten."
        )
    return key


def make(path: Path) -> None:
    """Write a new key, whole or not at all; of two programs that try at once, one wins."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=path.name)
    with contextlib.suppress(FileExistsError):
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(secrets.token_bytes(SIZE))
                file.flush()
                os.fsync(handle)
            os.link(name, path)
        finally:
            os.unlink(name)


def normal(number: str, country: str) -> str:
    """A number in the one form of ITU-T E.164, or what is no number in small letters."""
    found = list(readings(number, country))
    for sure in (phonenumbers.is_valid_number, phonenumbers.is_possible_number):
        for reading in found:
            if sure(reading):
                written: str = phonenumbers.format_number(
                    reading, phonenumbers.PhoneNumberFormat.E164
                )
                return written
    return "".join(number.lower().split())


def valid(number: str, country: str) -> str | None:
    """A number in the form of ITU-T E.164, if it can be one."""
    written = normal(number, country)
    return written if re.fullmatch(r"\+[0-9]{8,15}", written) else None


def readings(number: str, country: str) -> Iterator[Any]:
    """Ways to read a number: as written, and as one whose plus sign was left out."""
    written = number.strip()
    bare = re.sub(r"[\s().-]", "", written)
    for form in (written, "+" + bare if bare.isdigit() else ""):
        with contextlib.suppress(phonenumbers.NumberParseException):
            yield phonenumbers.parse(form, country)
