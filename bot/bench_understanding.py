"""How well the assistant understands messages no training has seen: `nlu_data/heldout`.

`python -m bot.bench_understanding` prints turns and conversations right by kind of writer, answers
to unrelated questions, and milliseconds a turn; `--wrong` lists what went wrong.
"""

from __future__ import annotations

import json
import sys
import time
from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from bot import lean, logs, paths

HELDOUT = paths.TRAINING / "heldout"
DECIDES = frozenset({"answer", "cautious", "question", "emergency"})


def is_right(answer: Mapping[str, Any], expected: Mapping[str, Any]) -> bool:
    """Whether an answer has an accepted kind and, where told, the destinations in order."""
    if answer["kind"] not in expected["kind"]:
        return False
    if "dest" not in expected:
        return True
    got = [i["destination"] for i in answer["items"] if i["destination"]]
    wanted = expected["dest"]
    return len(got) == len(wanted) and all(g in w for g, w in zip(got, wanted, strict=True))


def main() -> None:
    """Run the held-out sets and print the table."""
    lean.first()
    logs.configure()
    from bot.assistant import Assistant, answer_of
    from bot.training import model_file

    assistant = Assistant(model_file(paths.DATA))
    assistant.say("hello")
    turns: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    whole: dict[str, list[int]] = defaultdict(lambda: [0, 0])
    start, count = time.perf_counter(), 0
    lines = (HELDOUT / "conversations.jsonl").read_text(encoding="utf-8").splitlines()
    for conversation in map(json.loads, lines):
        metadata = {"on": conversation["on"]}
        if conversation["district"]:
            metadata["district"] = conversation["district"]
        good = True
        for turn in conversation["turns"]:
            answer = answer_of(assistant.say(turn["say"], conversation["id"], **metadata))
            right = is_right(answer, turn)
            good, count = good and right, count + 1
            turns[conversation["group"]][0] += right
            turns[conversation["group"]][1] += 1
            if not right and "--wrong" in sys.argv:
                got = [(i["item"], i["destination"]) for i in answer["items"]]
                print(f"{conversation['id']} {turn['say']!r}: {answer['kind']} {got}")
        whole[conversation["group"]][0] += good
        whole[conversation["group"]][1] += 1
    took = (time.perf_counter() - start) / count * 1000
    unrelated = (HELDOUT / "unrelated.txt").read_text(encoding="utf-8").split("\n")
    asked = [u for u in unrelated if u.strip()]
    false = sum(answer_of(assistant.say(u, district="pellbrook"))["kind"] in DECIDES for u in asked)
    print(f"{'':12}{'turns right':>16}{'conversations':>16}")
    for group in (*turns, "all"):
        t = turns[group] if group != "all" else [sum(x) for x in zip(*turns.values(), strict=True)]
        w = whole[group] if group != "all" else [sum(x) for x in zip(*whole.values(), strict=True)]
        print(f"{group:12}{t[0]:5}/{t[1]:<4}{t[0] / t[1]:6.1%}{w[0]:6}/{w[1]:<4}{w[0] / w[1]:6.1%}")
    print(f"answers to unrelated messages: {false} of {len(asked)}; {took:.1f} ms a turn")


if __name__ == "__main__":
    main()
