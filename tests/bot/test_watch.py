"""The watch over the rule files goes on after a failure that passes."""

from __future__ import annotations

import threading
from typing import Any

from bot import watch
from bot.checking import Verdict
from rules.finding import Finding
from rules.model import Place


def test_book_is_looked_at_again_after_a_failure(tmp_path, monkeypatch):
    (tmp_path / "book").mkdir()
    (tmp_path / "data").mkdir()
    (tmp_path / "book" / "a.yml").write_text("about: A\n", encoding="utf-8")
    stop, looked = threading.Event(), []

    def judge(*_: Any) -> Verdict:
        looked.append(1)
        if len(looked) == 1:
            raise OSError("No space left on device")
        stop.set()
        return Verdict({}, None, None, (Finding(Place("a.yml", 1), "wrong", "Mend it"),))

    monkeypatch.setattr(watch, "judge", judge)
    monkeypatch.setattr(watch, "LOOK", 100)
    monkeypatch.setattr(watch, "SETTLE", 20)
    keeper = watch.Keeper(tmp_path / "book", tmp_path / "data" / "book.json", print)
    follower = threading.Thread(target=keeper.follow, args=(stop,), daemon=True)
    follower.start()
    assert stop.wait(20) and len(looked) == 2
    follower.join(10)
    assert "wrong" in (tmp_path / "data" / watch.STATUS).read_text(encoding="utf-8")
