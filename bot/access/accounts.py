"""The accounts of the staff: one YAML file in the data folder that only its owner can read."""

from __future__ import annotations

import contextlib
import fcntl
import os
import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from bot.access.passwords import hashed, objection
from bot.processes import Failed

FILE = "accounts.yml"
ROLES = ("agent", "officer")
"""An officer may do all that an agent may."""
NAME = re.compile(r"[a-z0-9][a-z0-9._@-]{0,63}")


@dataclass(frozen=True, slots=True)
class Account:
    """A person who may sign in. `password` is the hash."""

    name: str
    role: str
    password: str


def folded(name: str) -> str:
    """A name as it is compared: small letters, no space around it."""
    return name.strip().lower()


def allows(role: str, needed: str) -> bool:
    """Whether a role may do what another role is needed for."""
    return role == needed or (role == "officer" and needed == "agent")


class Accounts:
    """The file, read again whenever it changed."""

    def __init__(self, data: Path) -> None:
        self.path = data / FILE
        self.stamp: tuple[int, int, int] | None = None
        self.known: dict[str, Account] = {}

    def all(self) -> dict[str, Account]:
        """The accounts by name. Raises `Failed` if the file is broken."""
        try:
            status = self.path.stat()
        except FileNotFoundError:
            self.stamp, self.known = None, {}
            return {}
        except OSError as error:
            raise Failed(f"{self.path} cannot be read: {error.strerror}.") from None
        stamp = status.st_mtime_ns, status.st_size, status.st_ino
        if stamp != self.stamp:
            self.known = read(self.path)
            self.stamp = stamp
        return self.known

    def get(self, name: str) -> Account | None:
        """One account. Raises as `all`."""
        return self.all().get(folded(name))

    def add(self, name: str, role: str, password: str) -> Account:
        """Make an account. Raises `Failed` with the cure."""
        key = folded(name)
        if not NAME.fullmatch(key):
            raise Failed(
                f"'{name}' cannot be an account's name. Use 1 to 64 letters a to z, figures, and "
                ". _ - @, such as 'j.marsh'."
            )
        if role not in ROLES:
            raise Failed(f"There is no role '{role}'. There are: {', '.join(ROLES)}.")
        with self.changing() as accounts:
            if key in accounts:
                raise Failed(
                    f"There is an account '{key}' already. To give it another password: "
                    f"lidwise account password {key}"
                )
            accounts[key] = Account(key, role, checked(password, key))
        return accounts[key]

    def remove(self, name: str) -> None:
        """Take an account away; its sessions end at once. Raises `Failed` if there is none."""
        with self.changing() as accounts:
            del accounts[self.there(accounts, name)]

    def change(self, name: str, password: str) -> None:
        """Give an account another password; its sessions end. Raises `Failed`."""
        with self.changing() as accounts:
            key = self.there(accounts, name)
            accounts[key] = Account(key, accounts[key].role, checked(password, key))

    def there(self, accounts: dict[str, Account], name: str) -> str:
        key = folded(name)
        if key not in accounts:
            known = ", ".join(sorted(accounts)) or "none yet"
            raise Failed(f"There is no account '{name}'. There are: {known}.")
        return key

    @contextlib.contextmanager
    def changing(self) -> Iterator[dict[str, Account]]:
        """The accounts to change; written, all at once, if nothing is raised."""
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with open(self.path.with_suffix(".lock"), "w") as lock:
            os.chmod(lock.name, 0o600)
            fcntl.flock(lock, fcntl.LOCK_EX)
            accounts = dict(self.all())
            yield accounts
            write(self.path, accounts)


def checked(password: str, name: str) -> str:
    """The hash of a new password. Raises `Failed` if it will not do."""
    wrong = objection(password, name)
    if wrong:
        raise Failed(wrong)
    return hashed(password)


def read(path: Path) -> dict[str, Account]:
    """The accounts of a file. Raises `Failed` with what is wrong: nobody can then sign in."""
    cure = "Put that right, or move the file away and make the accounts again."
    try:
        found: Any = yaml.safe_load(path.read_text(encoding="utf-8"))
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None)
        line = f", line {mark.line + 1}" if mark else ""
        raise Failed(f"{path}{line}: it is no YAML. {cure}") from None
    except (OSError, UnicodeDecodeError) as error:
        raise Failed(f"{path} cannot be read ({error}). {cure}") from None
    listed = found.get("accounts") if isinstance(found, dict) else None
    if listed is None and found is not None:
        raise Failed(f"{path}: it has no list 'accounts'. {cure}")
    accounts = {}
    for number, entry in enumerate(listed or [], 1):
        fields = entry if isinstance(entry, dict) else {}
        name, role, password = (fields.get(k) for k in ("name", "role", "password"))
        if not isinstance(name, str) or not isinstance(password, str) or role not in ROLES:
            raise Failed(
                f"{path}, account {number}: it needs a name, a password's hash and a role "
                f"({' or '.join(ROLES)}). {cure}"
            )
        accounts[folded(name)] = Account(folded(name), role, password)
    return accounts


def write(path: Path, accounts: dict[str, Account]) -> None:
    """Write the file, all at once, readable only by its owner."""
    listed = [
        {"name": a.name, "role": a.role, "password": a.password}
        for a in sorted(accounts.values(), key=lambda a: a.name)
    ]
    head = "# Made by 'lidwise account'. Passwords are kept as argon2id hashes.\n"
    # A temporary file has mode 0600 from the start.
    with tempfile.NamedTemporaryFile("w", encoding="utf-8", dir=path.parent, delete=False) as f:
        f.write(head + yaml.safe_dump({"accounts": listed}, sort_keys=False))
        f.flush()
        os.fsync(f.fileno())
    os.replace(f.name, path)
