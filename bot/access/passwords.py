"""Passwords: which will do, how they are kept, and how one is compared."""

from __future__ import annotations

from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from zxcvbn import zxcvbn

SHORTEST = 12
LONGEST = 200
"""Characters of a password: the least the task asks for, and a bound on work."""
STRENGTH = 3
"""The least of the library's five steps, 0 to 4: "safely unguessable" (its documentation)."""

# The library's defaults: argon2id, the second setting recommended by RFC 9106 (3 passes, 64 MiB).
HASHER = PasswordHasher()


def objection(password: str, name: str) -> str | None:
    """What is wrong with a new password, with the cure; nothing if it will do."""
    if len(password) < SHORTEST:
        return f"A password needs at least {SHORTEST} characters. Four odd words make a good one."
    if len(password) > LONGEST:
        return f"A password may have at most {LONGEST} characters."
    if not password.strip():
        return "A password cannot be all spaces."
    # 72 is what the library reads; more takes it long.
    found = zxcvbn(password[:72], user_inputs=[name, "lidwise"])
    if found["score"] < STRENGTH:
        return "This password is too easy to guess. Four odd words make a good one."
    return None


def hashed(password: str) -> str:
    """The form a password is kept in."""
    return HASHER.hash(password)


@cache
def dummy() -> str:
    """A hash to compare with where there is no account, so that it takes as long."""
    return HASHER.hash("nobody has this password")


def fits(password: str, kept: str | None) -> bool:
    """Whether it is the password; takes as long where there is no account."""
    try:
        right = HASHER.verify(kept or dummy(), password[: LONGEST + 1])
    except (VerificationError, InvalidHashError):
        return False
    return right and kept is not None
