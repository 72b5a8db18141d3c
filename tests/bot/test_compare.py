"""`lidwise compare` on rule files, revisions of a temporary repository, kept books and days."""

from __future__ import annotations

import importlib.util
import json
import shutil
import subprocess
from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner

from bot import paths
from bot.cli import app
from bot.record import books
from rules.loader import load_texts

SMALL = paths.PROJECT / "tests" / "rules" / "small_book.py"
SCHEMA = paths.PROJECT / "rules" / "comparison.schema.json"
SINCE = ("--since", "2026-06-01")


def small_texts():
    """The texts of the rules' own small book."""
    spec = importlib.util.spec_from_file_location("small_book_of_rules", SMALL)
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return dict(module.TEXTS)


TEXTS = small_texts()
ROW = "      - when: {origin: takeaway}\n        goes: residual\n"
OTHER = {**TEXTS, "items.yml": TEXTS["items.yml"].replace(ROW, ROW.replace("residual", "centre"))}
LINE = (
    "Pizza box (“Takeaway”), in every district, from 1 June 2026: centre instead of the black bin "
    "(North) or the red bin (South)."
)


def write(folder: Path, texts):
    for name, text in texts.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def git(folder: Path, *arguments: str) -> None:
    who = (
        "-c",
        "user.name=Test",
        "-c",
        "user.email=test@example.com",
        "-c",
        "commit.gpgsign=false",
    )
    subprocess.run(["git", *who, *arguments], cwd=folder, check=True, capture_output=True)


@pytest.fixture
def rules(tmp_path):
    """Present rule files in a repository whose first revision had other ones."""
    folder = write(tmp_path / "repository" / "council" / "rules", OTHER)
    top = tmp_path / "repository"
    git(top, "init", "-q")
    git(top, "add", "-A")
    git(top, "commit", "-q", "-m", "First")
    git(top, "tag", "first")
    write(folder, TEXTS)
    git(top, "commit", "-q", "-a", "-m", "Second")
    return folder


@pytest.fixture
def lidwise(rules, tmp_path):
    def run(*arguments, **more):
        told = [str(a) for a in arguments]
        asked = ["compare", *told, "--rules", str(rules), "--data-dir", str(tmp_path / "data")]
        return CliRunner().invoke(app, asked, **more)

    return run


def test_revision_against_the_present_files(lidwise):
    there = lidwise("now", "first", *SINCE)
    assert there.exit_code == 0
    assert LINE in there.stdout.splitlines()
    back = lidwise("first", *SINCE)
    assert "the black bin (North) or the red bin (South) instead of centre." in back.stdout
    assert lidwise("HEAD", *SINCE).stdout.endswith("Nothing differs.\n")


def test_status_tells_of_a_difference_only_if_asked_to(lidwise):
    assert lidwise("first", *SINCE).exit_code == 0
    assert lidwise("first", "--exit-code", *SINCE).exit_code == 1
    assert lidwise("HEAD", "--exit-code", *SINCE).exit_code == 0


def test_folder_file_and_kept_book(lidwise, tmp_path):
    folder = write(tmp_path / "elsewhere", OTHER)
    version = load_texts(OTHER).version
    books.keep(tmp_path / "data", OTHER, version)
    for told in (folder, folder / "items.yml", version, version[:7]):
        found = lidwise("now", told, *SINCE)
        assert found.exit_code == 0, found.stderr
        assert LINE in found.stdout.splitlines(), told


def test_json_is_in_its_shape_and_says_the_same(lidwise):
    told = json.loads(lidwise("now", "first", "--json", *SINCE).stdout)
    jsonschema.validate(told, json.loads(SCHEMA.read_text(encoding="utf-8")))
    assert [a["say"] for a in told["answers"] if a["aspect"] == "goes"] == [LINE]
    assert told["since"] == "2026-06-01"


def test_days_of_the_demo_book():
    asked = [
        "compare",
        "2027-01-31",
        "2027-02-01",
        "--district",
        "Tarnside",
        "--item",
        "newspapers",
    ]
    found = CliRunner().invoke(app, [*asked[:-1], "newspaper"])
    assert found.exit_code == 0, found.stderr
    assert found.stdout.splitlines() == [
        "From the present rules on 2027-01-31 to the present rules on 2027-02-01.",
        "",
        "Newspaper, in Tarnside, from 1 February 2027: the grey bin with a yellow lid instead of "
        "the white sack.",
    ]


def test_both_on_one_day(lidwise):
    found = lidwise("now", "first", "--on", "2027-01-01")
    assert "both on 1 January 2027" in found.stdout
    assert LINE.replace(", from 1 June 2026", "") in found.stdout.splitlines()


BAD = [
    (("nothing-of-this-name",), "git knows no revision of that name"),
    (("-n",), "No such option"),
    (("2027-02-30",), "There is no day 2027-02-30"),
    (("first", "--on", "soon"), "'soon' is no day"),
    (("2027-01-01", "--on", "2027-01-01"), "--on goes with rule files"),
    (("first", "--district", "westmarch"), "There are: north, south."),
    (("first", "--item", "gondola"), "Neither book has an item 'gondola'"),
]


@pytest.mark.parametrize(("arguments", "told"), BAD)
def test_what_cannot_be_read_is_told_in_words(lidwise, arguments, told):
    found = lidwise(*arguments)
    assert found.exit_code == 2
    assert told in " ".join(found.stderr.split())
    assert "Traceback" not in found.stderr


def test_mistakes_are_told_with_file_and_line(lidwise, tmp_path):
    broken = {**TEXTS, "items.yml": TEXTS["items.yml"].replace("goes: centre", "goes: nowhere")}
    found = lidwise("now", write(tmp_path / "broken", broken))
    assert found.exit_code == 2
    assert found.stderr.count("items.yml, line") == 1
    gaps = TEXTS["items.yml"].replace(
        "      - when: {soiling: dirty}\n        goes: residual\n", ""
    )
    gaps = gaps.replace("        why: Grease spoils paper.\n", "")
    found = lidwise("now", write(tmp_path / "gaps", {**TEXTS, "items.yml": gaps}))
    assert found.exit_code == 2
    assert "no row of 'paper' holds for some facts" in found.stderr
    assert "items.yml, line" in found.stderr


def test_two_files_of_one_name_are_asked_about(lidwise, rules, tmp_path):
    empty = "about: More.\nowner: Office\nreviewed: 2026-06-01\n"
    write(rules, {"a/more.yml": empty, "b/more.yml": empty})
    folder = write(tmp_path / "elsewhere", {"more.yml": empty, "b/more.yml": empty})
    found = lidwise("now", folder / "more.yml")
    assert found.exit_code == 2
    assert "could be any of a/more.yml, b/more.yml" in found.stderr
    assert lidwise("now", folder / "b" / "more.yml").exit_code == 0


def test_without_git_or_a_repository(lidwise, rules, monkeypatch):
    shutil.rmtree(rules.parents[1] / ".git")
    found = lidwise("first")
    assert found.exit_code == 2
    assert "is not in a git repository" in found.stderr
    monkeypatch.setenv("PATH", "")
    found = lidwise("first")
    assert found.exit_code == 2
    assert "Git is not installed here" in found.stderr


def test_revision_without_the_folder(lidwise, rules):
    top = rules.parents[1]
    git(top, "checkout", "-q", "--orphan", "before")
    git(top, "rm", "-rq", "--cached", ".")
    git(top, "commit", "-q", "--allow-empty", "-m", "Nothing yet")
    found = lidwise("before")
    assert found.exit_code == 2
    assert "was not there in" in found.stderr or "no rule file" in found.stderr
