"""`lidwise changes` and `lidwise example` in the terminal."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from bot.changes import commands, proving
from bot.changes.judging import Judge
from bot.changes.store import Changes
from bot.cli import app
from bot.record.entry import TABLE
from bot.record.store import Record, add
from rules.finding import Finding
from rules.model import Place
from tests.bot.changes import RULES, on_disk, small

NAME = {"add_name": {"item": "kettle", "name": "water boiler"}}


@pytest.fixture
def changes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Changes:
    """Three small files, and a proof that finds fault only with the word 'wrong'."""

    def light(old: Any, new: dict[str, str]) -> proving.Proved:
        wrong = [n for n, text in new.items() if "wrong" in text]
        found = tuple(Finding(Place(n, 3), "a wrong word", "Take it out") for n in wrong)
        return proving.Proved("v1", found, 12, 3, ("Kettle: another name.",), {})

    def judge(changes: Changes, data: Path, change: Any) -> Judge:
        made = Judge(changes, None)
        made.prove = light
        return made

    monkeypatch.setattr(commands, "judge", judge)
    return small(tmp_path)


def told(tmp_path: Path, *arguments: str, input: str | None = None) -> tuple[int, str]:
    where = ["--data-dir", str(tmp_path / "data"), "--rules", str(tmp_path / "book")]
    if arguments[:2] == ("example", "list"):
        where = where[2:]
    done = CliRunner().invoke(app, [*arguments, *where], input=input)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done.exit_code, done.output


def test_list_show_and_apply_by_digest(changes: Changes, tmp_path: Path) -> None:
    assert told(tmp_path, "changes", "list") == (0, "There is no change yet.\n")
    made = changes.propose_edits("Another name", [NAME], by="ann")
    assert told(tmp_path, "changes", "list") == (
        0,
        f"{made.id}  proposed  Another name (ann)\n",
    )
    code, text = told(tmp_path, "changes", "show", made.id)
    assert code == 0
    assert "-    also: [jug kettle]\n+    also: [jug kettle, water boiler]" in text
    assert "12 combinations, 3 single examples" in text and "  Kettle: another name." in text
    assert f"lidwise changes apply {made.id} --yes {made.digest}" in text
    code, text = told(tmp_path, "changes", "apply", made.id)
    assert code == 1 and f"--yes {made.digest}" in text, "no terminal to ask"
    code, text = told(tmp_path, "changes", "apply", made.id, "--yes", "0" * 16)
    assert code == 1 and "not the difference you read" in text
    assert on_disk(tmp_path) == RULES
    code, text = told(tmp_path, "changes", "apply", made.id, "--yes", made.digest)
    assert (code, text) == (0, "Applied. A running assistant answers by it in a moment.\n")
    assert "water boiler" in on_disk(tmp_path)["book/a.yml"]
    code, text = told(tmp_path, "changes", "undo", made.id)
    back = next(c for c in changes.all() if c.state == "proposed")
    assert code == 0 and back.id in text
    assert told(tmp_path, "changes", "apply", back.id, "--yes", back.digest)[0] == 0
    assert on_disk(tmp_path) == RULES


def test_apply_asks_first(
    changes: Changes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = changes.propose_edits("x", [NAME], by="ann")
    monkeypatch.setattr("typer.testing._NamedTextIOWrapper.isatty", lambda _: True, raising=False)
    monkeypatch.setattr("click.testing._NamedTextIOWrapper.isatty", lambda _: True, raising=False)
    code, text = told(tmp_path, "changes", "apply", made.id, input="no\n")
    assert code == 0 and text.endswith("Nothing was changed.\n")
    assert on_disk(tmp_path) == RULES
    code, text = told(tmp_path, "changes", "apply", made.id, input="yes\n")
    assert code == 0 and "+    also: [jug kettle, water boiler]" in text
    assert "water boiler" in on_disk(tmp_path)["book/a.yml"]


def test_mistakes_are_told_and_keep_it_out(changes: Changes, tmp_path: Path) -> None:
    made = changes.propose("x", {"book/a.yml": RULES["book/a.yml"] + "# wrong\n"}, by="ann")
    code, text = told(tmp_path, "changes", "apply", made.id)
    assert code == 1 and "book/a.yml, line 3: a wrong word. Take it out" in text
    code, text = told(tmp_path, "changes", "apply", made.id, "--yes", made.digest)
    assert code == 1 and "The check fails, so nothing was changed" in text
    assert on_disk(tmp_path) == RULES


def test_changed_meanwhile_made_again_joined_and_dropped(changes: Changes, tmp_path: Path) -> None:
    made = changes.propose_edits("x", [NAME], by="ann")
    (tmp_path / "book" / "a.yml").write_text(RULES["book/a.yml"] + "# more\n")
    code, text = told(tmp_path, "changes", "show", made.id)
    assert f"lidwise changes again {made.id}" in text
    assert told(tmp_path, "changes", "again", made.id)[0] == 0
    other = changes.propose("y", {"examples/film.yml": "cases: []\n# y\n"}, by="ann")
    assert told(tmp_path, "changes", "join", made.id, other.id)[0] == 0
    assert len(changes.get(made.id).files) == 2
    assert told(tmp_path, "changes", "drop", made.id)[0] == 0
    code, text = told(tmp_path, "changes", "drop", made.id)
    assert code == 1 and "was dropped already" in text
    for command in ("show", "apply", "drop", "undo", "again"):
        code, text = told(tmp_path, "changes", command, "nonsense")
        assert code == 1 and "There is no change 'nonsense'" in text


def test_example_from_the_record(changes: Changes, tmp_path: Path) -> None:
    """As answered at once, or as a draft that is corrected first."""
    record = Record(tmp_path / "data")
    row = {c.name: None for c in TABLE.columns if c.name != "id"} | {
        "at": "2026-12-01T10:00:00+00:00", "conversation": "c-1", "channel": "webchat",
        "demo": False, "district": "oxmere", "on": "2026-12-01", "kind": "answer",
        "question": "old kettle", "intent": "x", "confidence": 1.0, "meant": [],
        "items": [{"item": "kettle", "destination": "electricals_bag"}],
    }  # fmt: skip
    with record.engine.begin() as connection:
        add(connection, [row])
    code, text = told(tmp_path, "example", "save", "nobody")
    assert code == 1 and "There is no such conversation" in text
    code, text = told(tmp_path, "example", "save", "c-1")
    (made,) = changes.all()
    assert code == 0 and made.id in text
    (path,) = made.files
    assert path == "examples/conversations/old_kettle.yml"
    assert "say: old kettle" in str(made.files[path]) and "on: 2026-12-01" in str(made.files[path])
    draft = tmp_path / "draft.yml"
    code, text = told(tmp_path, "example", "save", "c-1", "--draft", str(draft))
    assert code == 0 and f"lidwise example add {draft}" in text
    assert told(tmp_path, "example", "save", "c-1", "--draft", str(draft))[0] == 1, "kept"
    draft.write_text(draft.read_text().replace("electricals_bag", "reuse"))
    assert told(tmp_path, "example", "add", str(draft), "--name", "a kettle")[0] == 0
    second = next(c for c in changes.all() if c.id != made.id)
    assert "destination: reuse" in str(second.files["examples/conversations/a_kettle.yml"])
    draft.write_text("about: x\n")
    code, text = told(tmp_path, "example", "add", str(draft))
    assert code == 1 and "draft.yml, line 1" in text
    assert told(tmp_path, "example", "list") == (
        0,
        "There is no conversation among the examples yet.\n",
    )
