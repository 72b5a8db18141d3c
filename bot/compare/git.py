"""Rule files as they were in a revision of the git repository that they lie in."""

from __future__ import annotations

import io
import shutil
import subprocess
import tarfile
from pathlib import Path

from bot.processes import Failed

LONGEST = 60
"""Seconds after which git is given up."""


def run(folder: Path, *arguments: str) -> subprocess.CompletedProcess[bytes]:
    """Run git in a folder. Raises `Failed` if there is no git, or it takes too long."""
    git = shutil.which("git")
    if git is None:
        raise Failed("Git is not installed here, so revisions cannot be compared.")
    try:
        return subprocess.run(
            [git, *arguments], cwd=folder, capture_output=True, timeout=LONGEST, check=False
        )
    except subprocess.TimeoutExpired:
        raise Failed(f"Git did not answer within {LONGEST} seconds.") from None


def last_line(output: bytes) -> str:
    """The last line that git wrote, without what it begins with."""
    lines = output.decode("utf-8", "replace").strip().splitlines()
    return lines[-1].removeprefix("fatal: ").removeprefix("error: ") if lines else "no reason given"


def commit_of(folder: Path, revision: str) -> str | None:
    """The full name of a revision's commit, `None` if there is no such revision.

    Raises `Failed` if the folder lies in no repository that git may read.
    """
    there = run(folder, "rev-parse", "--is-inside-work-tree")
    if there.returncode:
        raise Failed(f"{folder} is not in a git repository: {last_line(there.stderr)}.")
    if revision.startswith("-"):
        return None
    found = run(folder, "rev-parse", "--verify", "--quiet", f"{revision}^{{commit}}")
    return found.stdout.decode().strip() or None


def texts_at(folder: Path, commit: str) -> dict[str, str]:
    """The rule files of a folder as of a commit, by their path in the folder.

    Raises `Failed` if there were none, or one is no UTF-8.
    """
    packed = run(folder, "archive", "--format=tar", commit)
    if packed.returncode:
        raise Failed(f"{folder} was not there in {commit[:12]}: {last_line(packed.stderr)}.")
    texts = {}
    with tarfile.open(fileobj=io.BytesIO(packed.stdout)) as archive:
        for member in archive:
            path = Path(member.name)
            if member.isfile() and path.suffix in (".yml", ".yaml"):
                file = archive.extractfile(member)
                assert file is not None
                try:
                    texts[path.as_posix()] = file.read().decode("utf-8")
                except UnicodeDecodeError:
                    raise Failed(f"{path} is not saved as UTF-8 in {commit[:12]}.") from None
    if not texts:
        raise Failed(f"There is no rule file in {folder} in {commit[:12]}.")
    return dict(sorted(texts.items()))
