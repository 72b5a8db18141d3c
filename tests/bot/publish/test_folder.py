"""Publishing to a folder: whole files, nothing of others touched, and what is noted of it."""

from __future__ import annotations

import hashlib
import json
import os
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from bot import paths
from bot.cli import app
from bot.processes import Failed
from bot.publish import folder, noted
from rules.loader import load, load_texts, read_files
from tests.bot.publish.asked import rules_in_force
from tests.rules.small_book import TEXTS

BOOK = rules_in_force()
DAY = date(2026, 11, 29)
GUIDE = """\
about: What is printed.
owner: Office
reviewed: 2026-06-01
guide:
  common:
    - letter
    - pizza_box
    - battery
  tags:
    card: [battery, {item: letter, when: {soiling: dirty}}]
"""
MADE = {"a-to-z/oxmere.html": b"list", "guide/oxmere.pdf": b"guide", "index.html": b"index"}


def write(
    out: Path, made: dict[str, bytes] | None = None, districts: tuple[str, ...] = ("oxmere",)
):
    return folder.write(out, MADE if made is None else made, BOOK, DAY, list(districts))


def held(out: Path) -> dict[str, bytes]:
    return {p.relative_to(out).as_posix(): p.read_bytes() for p in out.rglob("*") if p.is_file()}


def test_folder_holds_the_files_and_their_hashes(tmp_path):
    assert write(tmp_path / "out") == folder.Written(3, 0, 0)
    there = held(tmp_path / "out")
    told = json.loads(there.pop("manifest.json"))
    assert there == MADE
    assert told["files"] == {n: hashlib.sha256(b).hexdigest() for n, b in MADE.items()}
    assert (told["rules"], told["on"], told["complete"]) == (BOOK.version, "2026-11-29", True)
    assert {p.stat().st_mode & 0o777 for p in (tmp_path / "out").rglob("*") if p.is_file()} == {
        0o644
    }


def test_second_run_touches_nothing(tmp_path):
    write(tmp_path)
    before = {p: p.stat().st_mtime_ns for p in tmp_path.rglob("*")}
    assert write(tmp_path) == folder.Written(0, 3, 0)
    assert {p: p.stat().st_mtime_ns for p in tmp_path.rglob("*")} == before


def test_only_what_changed_is_written_and_what_is_no_longer_made_goes(tmp_path):
    write(tmp_path)
    before = (tmp_path / "index.html").stat().st_mtime_ns
    made = {"a-to-z/oxmere.html": b"new", "index.html": b"index", "tags/oxmere.txt": b"tags"}
    assert write(tmp_path, made) == folder.Written(2, 1, 1)
    there = held(tmp_path)
    assert set(json.loads(there.pop("manifest.json"))["files"]) == set(made)
    assert there == made
    assert (tmp_path / "index.html").stat().st_mtime_ns == before


@pytest.mark.parametrize(
    ("name", "said"),
    [("notes.txt", "not empty and was not made"), ("a/b/c.html", "not empty and was not made")],
)
def test_folder_of_others_is_left_alone(tmp_path, name, said):
    (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
    (tmp_path / name).write_bytes(b"mine")
    with pytest.raises(Failed, match=said):
        write(tmp_path)
    assert held(tmp_path) == {name: b"mine"}


def test_file_of_others_among_ours_is_left_alone(tmp_path):
    write(tmp_path)
    (tmp_path / "guide" / "mine.pdf").write_bytes(b"mine")
    before = held(tmp_path)
    with pytest.raises(Failed, match=r"mine\.pdf was not published by this program"):
        write(tmp_path, {"index.html": b"other"})
    assert held(tmp_path) == before


def test_file_of_ours_that_someone_changed_is_left_alone(tmp_path):
    write(tmp_path)
    (tmp_path / "index.html").write_bytes(b"edited by hand")
    with pytest.raises(Failed, match=r"index\.html was changed since"):
        write(tmp_path)
    assert (tmp_path / "index.html").read_bytes() == b"edited by hand"


def test_links_are_not_followed(tmp_path):
    outside = tmp_path / "outside.txt"
    outside.write_bytes(b"mine")
    write(tmp_path / "out")
    (tmp_path / "out" / "index.html").unlink()
    (tmp_path / "out" / "index.html").symlink_to(outside)
    with pytest.raises(Failed, match="not published by this program"):
        write(tmp_path / "out", {"index.html": b"other"})
    assert outside.read_bytes() == b"mine"


@pytest.mark.parametrize("files", [{"../../x": "0"}, {"/etc/x": "0"}, ["x"], 3])
def test_manifest_that_points_outside_is_none_of_ours(tmp_path, files):
    (tmp_path / "manifest.json").write_text(
        json.dumps({"made_by": "lidwise", "complete": False, "districts": [], "files": files})
    )
    with pytest.raises(Failed, match="was not made by this program"):
        write(tmp_path)


def test_other_districts_are_not_removed(tmp_path):
    write(tmp_path, districts=("oxmere", "tarnside"))
    with pytest.raises(Failed, match="also holds tarnside"):
        write(tmp_path)
    assert set(held(tmp_path)) == {*MADE, "manifest.json"}


def test_stopped_half_way_it_goes_on_the_next_time(tmp_path, monkeypatch):
    write(tmp_path)
    real, left = folder.put, [2]

    def put(path: Path, body: bytes) -> None:
        if left[0] == 0:
            raise KeyboardInterrupt
        left[0] -= 1
        real(path, body)

    made = {"a-to-z/oxmere.html": b"new", "index.html": b"new", "tags/oxmere.txt": b"new"}
    monkeypatch.setattr(folder, "put", put)
    with pytest.raises(KeyboardInterrupt):
        write(tmp_path, made)
    monkeypatch.setattr(folder, "put", real)
    half = held(tmp_path)
    assert json.loads(half["manifest.json"])["complete"] is False
    assert sorted(v for k, v in half.items() if k != "manifest.json") == [
        b"guide",
        b"index",
        b"new",
    ]
    (tmp_path / f"{folder.PART}abc").write_bytes(b"half a file")
    write(tmp_path, made)
    there = held(tmp_path)
    assert json.loads(there.pop("manifest.json"))["complete"] is True
    assert there == made


def test_name_of_a_file_is_told(tmp_path):
    (tmp_path / "file").write_bytes(b"mine")
    for out in (tmp_path / "file", tmp_path / "file" / "below"):
        with pytest.raises(Failed, match="is not a folder"):
            write(out)
    assert (tmp_path / "file").read_bytes() == b"mine"


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write anywhere")
def test_folder_without_rights_is_told(tmp_path):
    (tmp_path / "closed").mkdir(mode=0o500)
    with pytest.raises(Failed, match="cannot be written"):
        write(tmp_path / "closed" / "out")


# ---- the command


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    """A small rule book in a folder."""
    for name, text in {**TEXTS, "guide.yml": GUIDE}.items():
        (tmp_path / "rules").mkdir(exist_ok=True)
        (tmp_path / "rules" / name).write_text(text)
    return tmp_path / "rules"


def run(rules: Path, *arguments: str) -> tuple[int, str]:
    done = CliRunner().invoke(app, ["publish", *arguments, "--rules", str(rules)])
    return done.exit_code, done.output


def test_command_publishes_one_district_and_notes_it(tmp_path, rules):
    out, data = tmp_path / "out", tmp_path / "data"
    arguments = (str(out), "--on", "2027-02-10", "--district", "South", "-d", str(data))
    code, said = run(rules, *arguments)
    assert code == 0, said
    version = load(rules).version
    assert f"rules {version}, as on 2027-02-10: 9 files" in said
    assert (
        run(rules, *arguments)[1].splitlines()[1].startswith("0 changed, 9 as before, 0 removed.")
    )
    told = noted.last(data)
    assert told and (told.rules, told.on) == (version, date(2027, 2, 10))
    assert told.files == json.loads((out / "manifest.json").read_text())["files"]
    index = (out / "index.html").read_text()
    for name in told.files:
        if name != "index.html":
            assert f'href="{name}"' in index


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--on", "soon"), "'soon' is no date. Write it as year-month-day"),
        (("--on", "2026-01-01"), "The rules begin on 2026-04-01"),
        (("--district", "nowhere"), "There is no district 'nowhere'. There are: north, south"),
    ],
)
def test_command_says_what_is_wrong(tmp_path, rules, arguments, said):
    code, told = run(rules, str(tmp_path / "out"), "-d", str(tmp_path / "data"), *arguments)
    assert code == 1 and said in told and "Traceback" not in told
    assert list(tmp_path.iterdir()) == [rules]


def test_command_publishes_no_rules_with_mistakes(tmp_path, rules):
    (rules / "guide.yml").write_text(GUIDE.replace("    - letter\n", "    - leter\n"))
    code, told = run(rules, str(tmp_path / "out"), "-d", str(tmp_path / "data"))
    assert code == 1 and "guide.yml, line 6" in told and "'letter'" in told
    assert not (tmp_path / "out").exists()


# ---- whether what was published is still right


def changed(old: str, new: str):
    texts = read_files(paths.PROJECT / "rules" / "book")
    (file,) = [n for n, t in texts.items() if old in t]
    return load_texts({**texts, file: texts[file].replace(old, new)})


def test_what_was_published_is_compared_with_the_rules_in_force(tmp_path):
    told = noted.note(tmp_path, BOOK, DAY, BOOK.districts, {}, "ann")
    assert noted.last(tmp_path) == told
    assert noted.stale(BOOK, told, DAY) == []
    # No answer changes from one day to the next, nor by a remark in a file.
    assert noted.stale(BOOK, told, date(2026, 12, 24)) == []
    remark = changed("about: What Oxmere's", "about: What all of Oxmere's")
    assert remark.version != BOOK.version and noted.stale(remark, told, DAY) == []
    # The containers of Tarnside do on 1 February, and film everywhere on 31 March.
    assert noted.stale(BOOK, told, date(2027, 2, 1)) == ["tarnside"]
    assert noted.stale(BOOK, told, date(2027, 3, 31)) == list(BOOK.districts)
    renamed = changed("called: silver caddy", "called: blue caddy")
    assert noted.stale(renamed, told, DAY) == ["oxmere"]


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"by": 1}', "\x00"])
def test_note_that_cannot_be_read_counts_as_none(tmp_path, text):
    (tmp_path / noted.FILE).write_text(text)
    assert noted.last(tmp_path) is None
