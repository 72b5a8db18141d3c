"""The accounts of the staff: the command, the file, passwords.

Values named after OWASP are from memory of its ASVS and cheat sheets.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import argon2
import pytest
import yaml

from bot import paths
from bot.access.accounts import Accounts, allows
from bot.access.passwords import dummy, fits, objection
from bot.processes import Failed
from tests.bot.staff import PASSWORD


def account(*arguments: str, data: Path, typed: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "bot", "account", *arguments, "-d", str(data)],
        input=typed,
        capture_output=True,
        text=True,
        timeout=60,
        cwd=paths.PROJECT,
    )


def test_command_makes_lists_changes_and_removes_accounts(tmp_path):
    made = account("add", "J.Marsh", "--password-stdin", data=tmp_path, typed=PASSWORD + "\n")
    assert made.returncode == 0 and "'j.marsh' with the role agent" in made.stdout
    assert account("list", data=tmp_path).stdout == "j.marsh  agent\n"
    again = account("add", "j.marsh", "--password-stdin", data=tmp_path, typed=PASSWORD)
    assert again.returncode == 1 and "lidwise account password j.marsh" in again.stderr
    other = "four odd words matter"
    changed = account("password", "j.marsh", "--password-stdin", data=tmp_path, typed=other)
    assert changed.returncode == 0
    kept = Accounts(tmp_path).get("J.Marsh").password
    assert fits(other, kept) and not fits(PASSWORD, kept)
    assert account("remove", "j.marsh", data=tmp_path).returncode == 0
    assert "no account yet" in account("list", data=tmp_path).stdout
    gone = account("remove", "j.marsh", data=tmp_path)
    assert gone.returncode == 1 and "none yet" in gone.stderr


def test_command_without_terminal_or_with_wrong_role_says_the_cure(tmp_path):
    assert "--password-stdin" in account("add", "ann", data=tmp_path).stderr
    wrong = account("add", "ann", "--role", "king", "--password-stdin", data=tmp_path, typed="x")
    assert wrong.returncode == 1 and "agent, officer" in wrong.stderr
    assert not (tmp_path / "accounts.yml").exists()


def test_file_of_accounts_is_private_and_holds_argon2id_hashes(tmp_path):
    accounts = Accounts(tmp_path)
    accounts.add("ann", "agent", PASSWORD)
    os.umask(os.umask(0))
    assert (tmp_path / "accounts.yml").stat().st_mode & 0o777 == 0o600
    (entry,) = yaml.safe_load((tmp_path / "accounts.yml").read_text())["accounts"]
    assert PASSWORD not in str(entry)
    # The library reads its own hash's parameters; at least 19 MiB and 2 passes is OWASP's least.
    kept = argon2.extract_parameters(entry["password"])
    assert kept.type is argon2.Type.ID and kept.memory_cost >= 19 * 1024 and kept.time_cost >= 2
    accounts.change("ann", "another odd pass phrase")
    assert (tmp_path / "accounts.yml").stat().st_mode & 0o777 == 0o600
    assert sorted(p.name for p in tmp_path.iterdir()) == ["accounts.lock", "accounts.yml"]


@pytest.mark.parametrize(
    ("password", "told"),
    [
        ("short", "12 characters"),
        ("password1234", "too easy"),
        ("qwertyuiop123", "too easy"),
        ("aaaaaaaaaaaaaaaa", "too easy"),
        ("            ", "spaces"),
        ("x" * 201, "at most 200"),
        (PASSWORD, None),
    ],
)
def test_passwords_that_will_not_do(password, told):
    found = objection(password, "ann")
    assert (found is None) if told is None else (told in found)


def test_two_who_write_the_file_at_once_lose_nothing(tmp_path):
    code = (
        "import sys; from pathlib import Path; from bot.access.accounts import Accounts\n"
        f"Accounts(Path({str(tmp_path)!r})).add(sys.argv[1], 'agent', {PASSWORD!r})"
    )
    running = [
        subprocess.Popen([sys.executable, "-c", code, f"name{n}"], cwd=paths.PROJECT)
        for n in range(4)
    ]
    assert [p.wait(60) for p in running] == [0] * 4
    assert sorted(Accounts(tmp_path).all()) == [f"name{n}" for n in range(4)]


@pytest.mark.parametrize("text", ["accounts: [", "[1]", "accounts:\n - name: ann\n   role: agent"])
def test_broken_file_of_accounts_lets_nobody_in(tmp_path, text):
    accounts = Accounts(tmp_path)
    accounts.add("ann", "agent", PASSWORD)
    time.sleep(0.01)
    (tmp_path / "accounts.yml").write_text(text)
    with pytest.raises(Failed, match=r"accounts\.yml"):
        accounts.get("ann")


def test_officers_may_do_what_agents_may_but_not_the_other_way_round():
    assert allows("officer", "agent") and allows("agent", "agent")
    assert not allows("agent", "officer") and not allows("", "agent")


def test_a_name_that_is_not_there_takes_as_long(tmp_path):
    kept = Accounts(tmp_path).add("ann", "agent", PASSWORD).password
    dummy()

    def took(hashed):
        times = []
        for _ in range(5):
            start = time.perf_counter()
            assert not fits("a wrong pass phrase", hashed)
            times.append(time.perf_counter() - start)
        return sorted(times)[2]

    assert 0.4 < took(None) / took(kept) < 2.5
