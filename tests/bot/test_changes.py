"""Proposed changes: kept, applied all or none, made again, joined, taken back."""

from __future__ import annotations

import errno
import os
import subprocess
import threading
from pathlib import Path
from typing import Any

import pytest

from bot.changes import places
from bot.changes.change import Change
from bot.changes.merging import Clash, merged
from bot.changes.showing import shown
from bot.changes.store import Changes
from bot.processes import Failed
from bot.watch import stamps
from rules.loader import read_files
from tests.bot.changes import RULES, on_disk, small

NAME = {"add_name": {"item": "kettle", "name": "water boiler"}}
A, B = "book/a.yml", "book/items/b.yml"


def fine(*_: Any) -> list[str]:
    """A check that finds nothing."""
    return []


@pytest.fixture
def changes(tmp_path: Path) -> Changes:
    return small(tmp_path)


def test_proposing_writes_no_rule_file(changes: Changes, tmp_path: Path) -> None:
    made = changes.propose_edits("Another  name\n", [NAME], by="ann", about={"review": "k"})
    assert on_disk(tmp_path) == RULES
    assert (made.title, made.by, made.state, made.about) == (
        "Another name",
        "ann",
        "proposed",
        {"review": "k"},
    )
    assert changes.get(made.id) == made and changes.all() == [made]
    assert "+    also: [jug kettle, water boiler]" in made.diff().splitlines()
    assert (tmp_path / "data" / "changes").stat().st_mode & 0o077 == 0


def test_applying_writes_the_file_and_keeps_the_rest(changes: Changes, tmp_path: Path) -> None:
    (tmp_path / A).chmod(0o640)
    made = changes.propose_edits("x", [NAME], by="ann")
    seen = []
    changes.apply(made.id, made.digest, "ben", lambda c, t: seen.append((c.id, t)) or [])  # type: ignore[func-returns-value]
    wanted = {**RULES, A: RULES[A].replace("[jug kettle]", "[jug kettle, water boiler]")}
    assert on_disk(tmp_path) == wanted == seen[0][1]
    assert (tmp_path / A).stat().st_mode & 0o777 == 0o640
    after = changes.get(made.id)
    assert (after.state, after.ended_by, after.before) == ("applied", "ben", {A: RULES[A]})
    with pytest.raises(Failed, match="applied already by ben"):
        changes.apply(made.id, made.digest, "ben", fine)
    with pytest.raises(Failed, match="applied already"):
        changes.drop(made.id, "ben")


def test_git_applies_the_difference_that_is_shown(changes: Changes, tmp_path: Path) -> None:
    """The unified diff is one to another program, too (git apply)."""
    files = {A: RULES[A] + "section: Test\n", B: RULES[B].replace("toaster\n\n", "toaster\n")}
    made = changes.propose("x", files, by="ann")
    (tmp_path / "x.diff").write_text(
        made.diff().replace("--- ", "--- a/").replace("+++ ", "+++ b/")
    )
    done = subprocess.run(
        ["git", "apply", "--unsafe-paths", f"--directory={tmp_path}", str(tmp_path / "x.diff")],
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert on_disk(tmp_path) == {**RULES, **files}


def test_nothing_goes_live_unread(changes: Changes, tmp_path: Path) -> None:
    made = changes.propose_edits("x", [NAME], by="ann")
    for seen in ("", "0" * 16, made.digest[:-1]):
        with pytest.raises(Failed, match="not the difference you read"):
            changes.apply(made.id, seen, "ann", fine)
    assert on_disk(tmp_path) == RULES


def test_failing_check_keeps_it_out(changes: Changes, tmp_path: Path) -> None:
    made = changes.propose_edits("x", [NAME], by="ann")
    with pytest.raises(Failed, match=r"The check fails[^\n]*\na\.yml, line 3: no"):
        changes.apply(made.id, made.digest, "ann", lambda *_: ["a.yml, line 3: no."])
    assert on_disk(tmp_path) == RULES
    assert changes.get(made.id).state == "proposed"


def test_without_another_check_the_rules_are_loaded_and_proved(changes: Changes) -> None:
    """The three files are no rule book, and the check says so."""
    made = changes.propose_edits("x", [NAME], by="ann")
    with pytest.raises(Failed, match=r"a\.yml, line 1: the file has no 'owner'"):
        changes.apply(made.id, made.digest, "ann")


def test_file_changed_between_reading_and_applying(changes: Changes, tmp_path: Path) -> None:
    made = changes.propose_edits("x", [NAME], by="ann")
    (tmp_path / A).write_text(RULES[A].replace("jug kettle", "jug kettle, whistling kettle"))
    with pytest.raises(Failed, match=r"since this was proposed: book/a\.yml\. Make it again"):
        changes.apply(made.id, made.digest, "ann", fine)
    assert changes.stale(made) == [A]
    again = changes.again(made.id, "ann")
    assert again.digest != made.digest
    with pytest.raises(Failed, match="not the difference you read"):
        changes.apply(made.id, made.digest, "ann", fine)
    changes.apply(made.id, again.digest, "ann", fine)
    assert "[jug kettle, whistling kettle, water boiler]" in on_disk(tmp_path)[A]


def test_whole_texts_are_made_again_where_the_lines_are_as_they_were(
    changes: Changes, tmp_path: Path
) -> None:
    made = changes.propose("x", {B: RULES[B].replace("name: iron", "name: flat iron")}, by="ann")
    (tmp_path / B).write_text(RULES[B].replace("about: B", "about: B and more\n# new"))
    again = changes.again(made.id, "ann")
    assert again.files[B] == "about: B and more\n# new\n" + RULES[B].split("\n", 1)[1].replace(
        "name: iron", "name: flat iron"
    )
    (tmp_path / B).write_text(RULES[B].replace("name: iron", "name: steam iron"))
    with pytest.raises(Failed, match="line 8 was changed by somebody else too"):
        changes.again(made.id, "ann")
    (tmp_path / B).write_text(str(again.files[B]))
    with pytest.raises(Failed, match="have this change already"):
        changes.again(made.id, "ann")


MERGES = [
    ("a\nb\nc\nd\n", "a\nB\nc\nd\n", "a\nb\nc\nd\ne\n", "a\nB\nc\nd\ne\n"),
    ("a\nb\n", "a\nb\nc\n", "x\na\nb\n", "x\na\nb\nc\n"),
    ("a\nb\nc\n", "a\nc\n", "0\na\nb\nc\n", "0\na\nc\n"),
    ("a\nb\nc\n", "z\na\nb\nc\n", "a\nb\nC\n", "z\na\nb\nC\n"),
    ("a\nb\nc\n", "a\nB\nc\n", "a\nb\nC\n", None),
    ("a\nb\nc\n", "a\nB\nc\n", "a\nX\nc\n", None),
    ("a\n", "a\nb\n", "a\nc\n", None),
]


@pytest.mark.parametrize(("base", "new", "now", "wanted"), MERGES)
def test_merging(base: str, new: str, now: str, wanted: str | None, tmp_path: Path) -> None:
    """What is merged is what git's three-way merge makes of it; what is refused, here or there,
    touches the same lines or their neighbours."""
    if wanted is None:
        with pytest.raises(Clash):
            merged(base, new, now)
        return
    assert merged(base, new, now) == wanted
    for name, text in (("now", now), ("base", base), ("new", new)):
        (tmp_path / name).write_text(text)
    done = subprocess.run(
        ["git", "merge-file", "-p", "now", "base", "new"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )
    assert (done.returncode, done.stdout) == (0, wanted)


def test_two_officers_at_once(changes: Changes, tmp_path: Path) -> None:
    """Of two changes to one file applied at the same moment, one wins and one is told."""
    other = {"add_name": {"item": "kettle", "name": "tea urn"}}
    made = [changes.propose_edits("x", [e], by="ann") for e in (NAME, other)]
    said: list[str] = []
    start = threading.Barrier(2)

    def apply(change: Change) -> None:
        start.wait()
        try:
            Changes(tmp_path / "data", tmp_path / "book").apply(
                change.id, change.digest, "ann", fine
            )
            said.append("applied")
        except Failed as failed:
            said.append(str(failed))

    threads = [threading.Thread(target=apply, args=(c,)) for c in made]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    (first, second) = sorted(said, reverse=True)
    assert first == "applied" and second.startswith("Changed since this was proposed: book/a.yml")
    late = next(c for c in changes.all() if c.state == "proposed")
    again = changes.again(late.id, "ann")
    changes.apply(again.id, again.digest, "ann", fine)
    text = on_disk(tmp_path)[A]
    assert "water boiler" in text and "tea urn" in text


def test_full_disk_changes_nothing(
    changes: Changes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files: dict[str, str | None] = {A: RULES[A] + "# more\n", B: RULES[B] + "# more\n"}
    made = changes.propose("x", {**files, "book/new.yml": "about: N\n"}, by="ann")
    real, tried = places.beside, []

    def full(path: Path, data: bytes) -> Path:
        tried.append(path)
        if len(tried) == 2:
            raise OSError(errno.ENOSPC, "No space left on device", str(path))
        return real(path, data)

    monkeypatch.setattr(places, "beside", full)
    with pytest.raises(Failed, match=r"No space left on device\. Nothing was changed"):
        changes.apply(made.id, made.digest, "ann", fine)
    assert on_disk(tmp_path) == RULES
    assert changes.get(made.id).state == "proposed"


def test_failure_half_way_puts_all_back(
    changes: Changes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files: dict[str, str | None] = {A: None, B: RULES[B] + "# more\n", "examples/n.yml": "x: 1\n"}
    made = changes.propose("x", files, by="ann")
    real, moved = os.replace, []

    def breaks(old: Any, new: Any) -> None:
        moved.append(new)
        if str(new).endswith("n.yml"):
            raise PermissionError(errno.EACCES, "Permission denied", str(new))
        real(old, new)

    monkeypatch.setattr(places.os, "replace", breaks)
    with pytest.raises(Failed, match=r"n\.yml cannot be written: Permission denied\. Nothing was"):
        changes.apply(made.id, made.digest, "ann", fine)
    monkeypatch.undo()
    assert len(moved) >= 2
    assert on_disk(tmp_path) == RULES


def test_change_that_cannot_be_noted_is_not_made(
    changes: Changes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = changes.propose_edits("x", [NAME], by="ann")

    def full(change: Change) -> Change:
        raise OSError(errno.ENOSPC, "No space left on device", "changes")

    monkeypatch.setattr(changes, "keep", full)
    with pytest.raises(Failed, match="No space left"):
        changes.apply(made.id, made.digest, "ann", fine)
    assert on_disk(tmp_path) == RULES


def test_folder_without_rights(tmp_path: Path) -> None:
    """Root may write anywhere, so a file stands where the folder has to be."""
    (tmp_path / "data").write_text("")
    made = small(tmp_path / "rules")
    with pytest.raises(Failed, match="cannot be written"):
        Changes(tmp_path / "data", made.places.rules).propose_edits("x", [NAME], by="ann")


def test_undo_puts_back_what_was_there(changes: Changes, tmp_path: Path) -> None:
    made = changes.propose("Mend", {A: None, "examples/new.yml": "cases: []\n"}, by="ann")
    with pytest.raises(Failed, match="is proposed, so there is nothing"):
        changes.undo(made.id, "ann")
    changes.apply(made.id, made.digest, "ann", fine)
    assert set(on_disk(tmp_path)) == {B, "examples/film.yml", "examples/new.yml"}
    back = changes.undo(made.id, "ben")
    assert back.title == "Take back: Mend" and back.about == {"undoes": made.id}
    changes.apply(back.id, back.digest, "ben", fine)
    assert on_disk(tmp_path) == RULES


def test_undo_leaves_what_came_later(changes: Changes, tmp_path: Path) -> None:
    made = changes.propose("x", {B: RULES[B].replace("name: iron", "name: flat iron")}, by="ann")
    changes.apply(made.id, made.digest, "ann", fine)
    (tmp_path / B).write_text(on_disk(tmp_path)[B].replace("about: B", "about: Bee"))
    back = changes.undo(made.id, "ann")
    changes.apply(back.id, back.digest, "ann", fine)
    assert on_disk(tmp_path)[B] == RULES[B].replace("about: B", "about: Bee")


def test_example_and_rule_are_joined(changes: Changes) -> None:
    asked = [{"say": "tea urn", "district": None}]
    rule = changes.propose_edits("rule", [NAME], by="ann", about={"questions": asked})
    example = changes.propose("example", {"examples/conversations/x.yml": "a: b\n"}, by="ann")
    with pytest.raises(Failed, match=r"Both changes are to book/a\.yml"):
        changes.join(rule.id, rule.id, "ann")
    both = changes.join(rule.id, example.id, "ann")
    assert set(both.files) == {A, "examples/conversations/x.yml"}
    assert both.about["questions"] == asked
    assert changes.get(example.id).state == "dropped"
    assert both.digest != rule.digest


@pytest.mark.parametrize(
    "name",
    ["../x.yml", "book/../../x.yml", "/etc/x.yml", "book/x.txt", "x.yml", "book/.x.yml",
     "book//x.yml", "book/a\n.yml", "tests/x.yml", "book/./x.yml", "book/sub/../x.yml"],
)  # fmt: skip
def test_no_path_leads_out(changes: Changes, name: str) -> None:
    with pytest.raises(Failed, match="is no rule file"):
        changes.propose("x", {name: "about: x\n"}, by="ann")


def test_link_that_leads_out_is_not_followed(changes: Changes, tmp_path: Path) -> None:
    (tmp_path / "outside").mkdir()
    (tmp_path / "book" / "link").symlink_to(tmp_path / "outside")
    with pytest.raises(Failed, match="leads out"):
        changes.propose("x", {"book/link/x.yml": "about: x\n"}, by="ann")


def test_what_is_not_there_or_damaged(changes: Changes, tmp_path: Path) -> None:
    for id in ("20261201-abcdef", "../x", "", "x" * 300):
        with pytest.raises(Failed, match="There is no change"):
            changes.get(id)
    made = changes.propose_edits("x", [NAME], by="ann")
    path = tmp_path / "data" / "changes" / f"{made.id}.json"
    for text in ("", "{}", "[]", path.read_text().replace("proposed", "odd")):
        path.write_text(text)
        with pytest.raises(Failed, match="is damaged"):
            changes.get(made.id)
        assert changes.all() == []


def test_edits_that_cannot_be_made(changes: Changes) -> None:
    for edit, said in (
        ({"add_name": {"item": "kettel", "name": "urn"}}, "Did you mean 'kettle'"),
        ({"add_name": {"item": "kettle", "name": "Toasters"}}, "already a name of 'toaster'"),
        ({"rename": {}}, "There is no edit 'rename'"),
    ):
        with pytest.raises(Failed, match=said):
            changes.propose_edits("x", [edit], by="ann")
    with pytest.raises(Failed, match="would change nothing"):
        changes.propose("x", {A: RULES[A]}, by="ann")
    with pytest.raises(Failed, match=r"book/a\.yml was changed by somebody else meanwhile"):
        changes.propose("x", {A: "about: Z\n"}, by="ann", before={A: "about: old\n"})


def test_line_ends_are_kept(changes: Changes, tmp_path: Path) -> None:
    (tmp_path / A).write_bytes(RULES[A].replace("\n", "\r\n").encode())
    made = changes.propose_edits("x", [NAME], by="ann")
    changes.apply(made.id, made.digest, "ann", fine)
    data = (tmp_path / A).read_bytes()
    assert b"water boiler]\r\n" in data and data.count(b"\r\n") == data.count(b"\n")


def test_shown_difference_says_what_happens_to_each_line(changes: Changes) -> None:
    made = changes.propose_edits("x", [NAME], by="ann")
    (file,) = shown(made)
    assert (file.file, file.what, file.added, file.gone) == (A, "changed", 1, 1)
    assert [(r.how, r.old, r.new) for r in file.rows[-2:]] == [
        ("gone", 5, None),
        ("added", None, 5),
    ]
    assert file.rows[-1].parts == ("    also: [jug kettle", ", water boiler", "]")
    assert ["".join(r.parts) for r in file.rows if r.how != "gone"] == str(
        made.files[A]
    ).splitlines()[-4:]


def test_edit_made_by_hand_during_the_check_is_not_lost(changes: Changes, tmp_path: Path) -> None:
    made = changes.propose_edits("x", [NAME], by="ann")

    def slow(*_: Any) -> list[str]:
        (tmp_path / A).write_text(RULES[A] + "# by hand\n", encoding="utf-8")
        return []

    with pytest.raises(Failed, match="changed while this was checked"):
        changes.apply(made.id, made.digest, "ann", slow)
    assert on_disk(tmp_path)[A].endswith("# by hand\n")
    assert changes.get(made.id).state == "proposed"


def test_change_that_took_another_ones_place_is_found(changes: Changes) -> None:
    one = changes.propose_edits("x", [NAME], by="ann")
    two = changes.propose("y", {B: RULES[B] + "# more\n"}, by="ann")
    changes.join(two.id, one.id, "ann")
    assert changes.get(one.id).state == "dropped" and changes.last(one.id).id == two.id
    three = changes.propose("z", {B: RULES[B] + "# else\n"}, by="ann")
    changes.drop(two.id, "ann", three.id)
    assert changes.last(one.id).id == three.id


def test_hidden_files_of_an_editor_are_no_rule_files(changes: Changes, tmp_path: Path) -> None:
    (tmp_path / "book" / ".#a.yml").write_bytes(b"\xff")
    (tmp_path / "book" / "items" / "._b.yml").write_bytes(b"\xff")
    assert changes.places.all() == RULES
    assert set(read_files(tmp_path / "book")) == {"a.yml", "items/b.yml"}
    assert not any(".#" in name for name in stamps(tmp_path / "book"))
