"""Rule files changed while the assistant runs."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

HEAD = """about: A test
owner: Test owner
reviewed: "2026-11-01"
section: Test
"""
NEW = (
    HEAD
    + """items:
  quoit_rack:
    name: quoit rack
    also:
      - hoopla stand
      - ring toss post
    why: The centre has a bay for wood.
    source: Common practice
    outcomes:
      - goes: recycling_centre
"""
)


def wait(what, seconds: float = 45):
    """Wait until something is so."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if what():
            return True
        time.sleep(0.5)
    return False


@pytest.fixture
def files(running, site):
    """The folder of rule files, put back as it was afterwards."""
    before = {p: p.read_bytes() for p in running.rules.rglob("*.yml")}
    yield running.rules
    for path in running.rules.rglob("*.yml"):
        if path not in before:
            path.unlink()
    for path, data in before.items():
        if not path.exists() or path.read_bytes() != data:
            path.write_bytes(data)
    start = first_version
    assert wait(lambda: settled(site, start))


first_version = ""


@pytest.fixture(autouse=True)
def at_first(site):
    global first_version
    first_version = first_version or site.json("/health")["book"]["version"]


def settled(site, version: str) -> bool:
    told = site.json("/health")
    return (
        told["book"]["state"] == "in force"
        and told["book"]["version"] == version
        and told["actions"]["book"] == version
    )


def items(site, text: str) -> list[str | None]:
    return [i["item"] for i in site.answer(text, district="oxmere")["items"]]


def test_new_item_with_three_names(site, files):
    assert items(site, "where does a quoit rack go") == [None]
    (files / "items" / "zz_test.yml").write_text(NEW, encoding="utf-8")
    names = ["quoit rack", "hoopla stand", "ring toss posts"]
    assert wait(lambda: all(items(site, f"where does my {n} go") == ["quoit_rack"] for n in names))
    assert site.answer(names[1], district="oxmere")["items"][0]["destination"] == "recycling_centre"
    assert 'id="quoit_rack"' in site.request("/items")[2].decode()


def test_new_name_for_an_item(site, files):
    path = next(p for p in (files / "items").glob("*.yml") if "  pizza_box:\n" in p.read_text())
    text = path.read_text(encoding="utf-8")
    place = text.index("also:", text.index("  pizza_box:\n")) + len("also:")
    if text[place:].startswith(" ["):
        changed = f"{text[:place]} [flatbread crate, {text[place + 2 :]}"
    else:
        changed = f"{text[:place]}\n      - flatbread crate{text[place:]}"
    path.write_text(changed, encoding="utf-8")
    assert wait(lambda: items(site, "flatbread crate") == ["pizza_box"])


def test_broken_file_leaves_the_old_book_and_is_told(site, files, running):
    path = files / "items" / "zz_test.yml"
    path.write_text(NEW.replace("goes: recycling_centre", "goes: nowhere_at_all"), encoding="utf-8")
    assert wait(lambda: site.json("/health")["book"]["state"] == "old book in force")
    told = site.json("/health")
    assert told["status"] == "ok"
    assert told["book"]["version"] == first_version
    (mistake,) = told["book"]["mistakes"]
    assert (mistake["file"], mistake["line"]) == ("items/zz_test.yml", 14)
    assert "nowhere_at_all" in mistake["what"] and mistake["cure"]
    assert items(site, "pizza box") == ["pizza_box"]
    assert any("items/zz_test.yml, line 14" in line for line in running.printed)
    path.write_text(NEW, encoding="utf-8")
    assert wait(lambda: items(site, "quoit rack") == ["quoit_rack"])
    assert site.json("/health")["book"]["state"] == "in force"


def test_book_that_cannot_be_proved_is_refused(site, files):
    gap = NEW.replace(
        "    outcomes:\n      - goes: recycling_centre\n",
        "    ask:\n      - condition\n    outcomes:\n"
        "      - when: {condition: usable}\n        goes: reuse\n",
    )
    (files / "items" / "zz_test.yml").write_text(gap, encoding="utf-8")
    assert wait(lambda: site.json("/health")["book"]["state"] == "old book in force")
    whats = [m["what"] for m in site.json("/health")["book"]["mistakes"]]
    assert whats
    assert items(site, "pizza box") == ["pizza_box"]


def test_half_written_file_is_waited_for(site, files, running):
    path: Path = files / "items" / "zz_test.yml"
    told = len(running.printed)
    with path.open("w", encoding="utf-8") as out:
        for line in NEW.splitlines(keepends=True):
            out.write(line)
            out.flush()
            time.sleep(0.1)
    assert wait(lambda: items(site, "quoit rack") == ["quoit_rack"])
    assert not any("mistakes" in line for line in running.printed[told:])


def test_conversation_outlives_the_item_it_is_about(site, files):
    asked = NEW.replace(
        "    outcomes:\n      - goes: recycling_centre\n",
        "    ask:\n      - food_origin\n    outcomes:\n"
        "      - when: {food_origin: takeaway}\n        goes: residual\n"
        "      - when: {food_origin: home}\n        goes: recycling_centre\n",
    )
    path = files / "items" / "zz_test.yml"
    path.write_text(asked, encoding="utf-8")
    assert wait(lambda: items(site, "quoit rack") == ["quoit_rack"])
    first = site.answer("quoit rack", "outlives-1", district="oxmere")
    assert first["asks"]["item"] == "quoit_rack"
    path.unlink()
    assert wait(lambda: settled(site, first_version))
    said = site.say("it was a takeaway", "outlives-1", district="oxmere")
    assert not any("something went wrong" in m.get("text", "") for m in said)
    assert [i["item"] for i in site.answer("used tissues", "outlives-1")["items"]] == ["tissue"]
