"""The commands, as a person types them."""

from __future__ import annotations

import json
import shutil
import socket
import subprocess
import sys

import jsonschema
import pytest

from bot import paths
from tests.bot.conftest import BOOK, lidwise

SCHEMA = json.loads((paths.PROJECT / "actions" / "answer.schema.json").read_text(encoding="utf-8"))
COMMANDS = ("run", "train", "ask", "check", "play", "publish", "version")


def test_import_is_quick():
    code = (
        "import sys, time; t = time.perf_counter(); import bot.cli; t = time.perf_counter() - t;"
        "print(t, *(m for m in ('rasa', 'tensorflow', 'numpy', 'rules') if m in sys.modules))"
    )
    best = 9.0
    for _ in range(3):
        out = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, cwd=paths.PROJECT
        )
        seconds, *loaded = out.stdout.split()
        assert loaded == []
        best = min(best, float(seconds))
    assert best < 0.5


@pytest.mark.parametrize("command", ["", *COMMANDS])
def test_help(command):
    out = lidwise(*([command] if command else []), "--help")
    assert out.returncode == 0
    assert "Usage: lidwise" in out.stdout and "Options:" in out.stdout
    if not command:
        assert all(f"  {c} " in out.stdout for c in COMMANDS)


def test_version():
    out = lidwise("version")
    assert out.returncode == 0
    assert out.stdout.startswith("lidwise ")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["ask", "pizza box", "--district", "narnia"], "There is no district 'narnia'"),
        (["ask", "pizza box", "--on", "2027-02-30"], "'2027-02-30' is no date"),
        (["ask", "pizza box", "--on", "soon"], "'soon' is no date"),
        (["ask"], "Missing argument"),
        (["run", "--port", "70000"], "70000"),
        (["fly"], "No such command 'fly'"),
    ],
)
def test_wrong_words_are_told_and_end_with_2(arguments, said):
    out = lidwise(*arguments)
    assert out.returncode == 2
    assert said in out.stderr
    assert "Traceback" not in out.stderr


def test_ask_prints_the_contract(fresh):
    out = lidwise(
        "ask", "AAA batteries", "--district", "Oxmere", "--on", "2027-02-10", "--json",
        "--data-dir", fresh,
    )  # fmt: skip
    assert out.returncode == 0, out.stderr
    answer = json.loads(out.stdout)
    jsonschema.validate(answer, SCHEMA)
    assert (answer["district"], answer["on"]) == ("oxmere", "2027-02-10")
    assert [i["destination"] for i in answer["items"]] == ["battery_bag"]


def test_ask_words_a_text_message_from_other_rules(fresh, tmp_path):
    shutil.copytree(BOOK, tmp_path / "rules")
    path = next(
        p for p in (tmp_path / "rules/items").glob("*.yml") if "  pizza_box:\n" in p.read_text()
    )
    text = path.read_text(encoding="utf-8").replace(
        "name: pizza box", "name: flat card box for pizza"
    )
    path.write_text(text, encoding="utf-8")
    out = lidwise(
        "ask", "takeaway flat card box for pizza", "--district", "oxmere", "--sms",
        "--data-dir", fresh, "--rules", tmp_path / "rules",
    )  # fmt: skip
    assert out.returncode == 0, out.stderr
    assert out.stdout.startswith("Flat card box for pizza: maroon bin")
    assert len(out.stdout.strip()) <= 306


def test_check_tells_what_it_covered():
    out = lidwise("check")
    assert out.returncode == 0, out.stdout
    assert "3 districts × " in out.stdout and " combinations" in out.stdout
    for district in ("Pellbrook", "Oxmere", "Tarnside"):
        assert f"2027-03-31  {district}: " in out.stdout


@pytest.fixture
def rules(tmp_path):
    shutil.copytree(BOOK, tmp_path / "rules")
    return tmp_path / "rules"


ITEM = """about: A test
owner: Test owner
reviewed: "2026-11-01"
section: Test
items:
  quoit_rack:
    name: quoit rack
    why: The centre has a bay for wood.
    source: Common practice
    {more}
"""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (ITEM.format(more="outcomes: [{goes: nowhere_at_all}]"), "zz.yml, line 10"),
        (ITEM.format(more="outcomes: [{goes: residual}"), "not valid YAML"),
        (ITEM.format(more="nmae: x\n    outcomes: [{goes: residual}]"), "zz.yml, line 10"),
        (
            ITEM.format(
                more="ask: [food_origin]\n"
                "    outcomes: [{when: {food_origin: home}, goes: residual}]"
            ),
            "no row of 'quoit_rack' holds",
        ),
        (
            ITEM.format(
                more="hazard: fire\n    caution: Keep it away.\n    outcomes: [{goes: residual}]"
            ),
            "zz.yml",
        ),
    ],
    ids=["unknown place", "no YAML", "unknown key", "gap", "hazard in a bin"],
)
def test_check_tells_mistakes_with_file_line_and_cure(rules, text, said):
    (rules / "items" / "zz.yml").write_text(text, encoding="utf-8")
    out = lidwise("check", "--book", rules)
    assert out.returncode == 1
    assert said in out.stdout
    assert "items/zz.yml, line" in out.stdout
    assert "Traceback" not in out.stderr


def test_check_lists_every_mistake(rules):
    for name in ("zz1.yml", "zz2.yml"):
        (rules / "items" / name).write_text("about: [", encoding="utf-8")
    out = lidwise("check", "--book", rules)
    assert out.returncode == 1
    assert "items/zz1.yml, line" in out.stdout and "items/zz2.yml, line" in out.stdout
    assert "2 mistakes" in out.stdout


def test_check_tells_a_duty_that_is_not_met(rules):
    path = next(p for p in (rules / "items").glob("*.yml") if "  food_tin:\n" in p.read_text())
    head, rest = path.read_text(encoding="utf-8").split("  food_tin:\n", 1)
    entry, others = split_entry(rest)
    kept = "\n".join(
        line
        for line in entry.splitlines()
        if not line.strip().startswith(("follows", "ask", "assume"))
    )
    entry = f"{kept}\n    why: A test.\n    source: A test\n    outcomes: [{{goes: residual}}]\n"
    path.write_text(head + "  food_tin:\n" + entry + others, encoding="utf-8")
    out = lidwise("check", "--book", rules)
    assert out.returncode == 1
    assert "duties not met" in out.stdout


def split_entry(rest: str) -> tuple[str, str]:
    """An item's lines, and what comes after them."""
    lines = rest.splitlines(keepends=True)
    end = next(
        (n for n, x in enumerate(lines) if x.strip() and not x.startswith("    ")), len(lines)
    )
    return "".join(lines[:end]), "".join(lines[end:])


def test_play_says_whether_each_turn_went_as_told(fresh, tmp_path):
    talk = tmp_path / "talk.yml"
    talk.write_text(
        "about: A box.\nshows: A question\nchannel: webchat\ndistrict: oxmere\non: 2027-02-10\n"
        "turns:\n  - say: pizza box\n    kind: question\n    asks: food_origin\n"
        "  - say: it was a takeaway\n    kind: answer\n"
        "    items:\n      - item: pizza_box\n        destination: paper_card\n",
        encoding="utf-8",
    )
    out = lidwise("play", talk, "--data-dir", fresh)
    assert out.returncode == 1, out.stderr
    assert out.stdout.count("✓ as told") == 1
    assert "✗ 'pizza_box: paper_card' is not in the reply (pizza_box: residual)" in out.stdout


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (None, "There is no file"),
        ("about: [", "not valid YAML"),
        ("about: A box.\n", "'shows' is a required property"),
    ],
)
def test_play_tells_what_is_wrong_with_the_file(tmp_path, text, said):
    path = tmp_path / "talk.yml"
    if text is not None:
        path.write_text(text, encoding="utf-8")
    out = lidwise("play", path)
    assert out.returncode == 1
    assert said in out.stderr
    assert len(out.stderr.strip().splitlines()) == 1


def test_busy_port_is_told_before_anything_starts(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        out = lidwise("run", "--port", str(port), "--data-dir", tmp_path / "data")
    assert out.returncode == 1
    assert out.stderr.strip() == (
        f"Port {port} is in use by another program. Stop that, or try --port {port + 1}."
    )
    assert not (tmp_path / "data").exists()


def test_run_refuses_broken_rules(rules, tmp_path):
    (rules / "items" / "zz.yml").write_text("about: [", encoding="utf-8")
    out = lidwise("run", "--port", "0", "--data-dir", tmp_path / "data", "--rules", rules)
    assert out.returncode == 1
    assert "items/zz.yml, line" in out.stdout
    assert "Traceback" not in out.stderr


def test_data_dir_that_is_a_file(tmp_path):
    (tmp_path / "data").write_text("", encoding="utf-8")
    out = lidwise("run", "--port", "0", "--data-dir", tmp_path / "data")
    assert out.returncode == 1
    assert "is not a folder" in out.stderr
