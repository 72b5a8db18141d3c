"""How far the classifier's confidence can be believed: predicted confidence against how often
it was right, on the held-out messages."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

MEANT = {
    "ask": {"ask_destination", "ask_prepare"},
    "reply": {
        "state_condition",
        "vague_reply",
        "affirm",
        "deny",
        "name_district",
        "correct",
        "decline_option",
        "repeat_or_confused",
    },
    "more": {
        "ask_follow_on",
        "correct",
        "state_condition",
        "decline_option",
        "name_district",
        "ask_destination",
        "ask_prepare",
    },
    "explain": {
        "ask_why",
        "ask_what_happens",
        "ask_source",
        "ask_prepare",
        "repeat_or_confused",
        "ask_never",
    },
    "about": {
        "ask_container_contents",
        "ask_never",
        "ask_changes",
        "ask_tag",
        "ask_places",
        "ask_capabilities",
        "ask_what_happens",
        "ask_source",
    },
    "danger": {"live_danger"},
    "service": {"referral"},
    "outside": {"off_topic"},
    "chat": {"greet", "thank", "goodbye", "mood"},
    "noise": {"gibberish"},
}
"""Intents of the assistant that fit what the writers of the held-out sets meant a message to do."""

EDGES = (0.0, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95, 0.98, 1.0001)


def table(pairs: Iterable[tuple[float, bool]]) -> list[tuple[str, int, float, float]]:
    """Bands of confidence: the band, how many messages, mean confidence and share right."""
    pairs = list(pairs)
    rows = []
    for low, high in pairwise(EDGES):
        inside = [(c, r) for c, r in pairs if low <= c < high]
        if inside:
            mean = sum(c for c, _ in inside) / len(inside)
            right = sum(r for _, r in inside) / len(inside)
            rows.append((f"{low:.2f}-{min(high, 1.0):.2f}", len(inside), mean, right))
    return rows


def calibration_error(pairs: Iterable[tuple[float, bool]]) -> float:
    """The mean distance between confidence and share right, weighted by how many messages."""
    rows = table(pairs)
    total = sum(n for _, n, _, _ in rows)
    return sum(n * abs(mean - right) for _, n, mean, right in rows) / total
