"""From the framework's events to rows of the record."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime, timezone
from typing import Any

KEPT = ("item", "asked_as", "destination", "container", "alternatives", "rule", "source")
"""What the record keeps of each thing of the contract; `facts` come from the trail."""

Event = Mapping[str, Any]


def rows(conversation: str, events: Iterable[Event], demo: bool) -> Iterator[dict[str, Any]]:
    """A row for each turn among new events, as the framework serialises them."""
    user: Event | None = None
    replies: list[Event] = []
    for event in events:
        if event["event"] == "user":
            if user is not None:
                yield row(conversation, user, replies, demo)
            user, replies = event, []
        elif event["event"] == "bot":
            replies.append(event)
    if user is not None:
        yield row(conversation, user, replies, demo)


def row(conversation: str, user: Event, replies: list[Event], demo: bool) -> dict[str, Any]:
    """One turn. Without a reply it is one that failed, and the sender was told so."""
    told = next((r for r in reversed(replies) if (r.get("data") or {}).get("custom")), None)
    answer = told["data"]["custom"] if told else {}
    trail = (told.get("metadata") or {}).get("trail") if told else None
    trail = trail or {}
    parsed = user.get("parse_data") or {}
    intent = parsed.get("intent") or {}
    metadata = user.get("metadata") or {}
    items = joined(answer.get("items") or [], trail.get("items") or [])
    asks = answer.get("asks")
    kind = str(answer.get("kind") or "unclear")
    return {
        "at": moment(float(user["timestamp"])),
        "conversation": conversation,
        "turn": metadata.get("message_id") or user.get("message_id"),
        "channel": str(metadata.get("channel") or user.get("input_channel") or "rest"),
        "demo": demo,
        "district": answer.get("district"),
        "on": answer.get("on"),
        "kind": kind,
        "question": str(user.get("text") or ""),
        "intent": str(intent.get("name") or ""),
        "confidence": float(intent.get("confidence") or 0.0),
        "book": trail.get("book"),
        "items": items,
        "asks": {k: asks[k] for k in ("item", "condition")} if asks else None,
        "meant": list(trail.get("meant") or []),
        "fault": fault(kind, items) if told else "failed",
    }


def joined(answered: list[Any], led: list[Any]) -> list[dict[str, Any]]:
    """What the contract and the trail say of each thing. They are in the same order."""
    blank = {"asked": None, "facts": {}, "assumed": [], "unsettled": []}
    led = led if len(led) == len(answered) else [blank] * len(answered)
    return [
        {**{k: told.get(k) for k in KEPT}, **blank, **counted}
        for told, counted in zip(answered, led, strict=True)
    ]


def fault(kind: str, items: list[dict[str, Any]]) -> str | None:
    """Why a turn is worth a look, if it is."""
    if kind == "unclear":
        return "unclear"
    if kind == "emergency":
        return None
    decided = [i for i in items if i["destination"] is not None]
    if any(i["item"] is None for i in decided):
        return "unknown"
    return "unsettled" if any(i["unsettled"] for i in decided) else None


def moment(seconds: float) -> str:
    """Seconds since 1970 as UTC in ISO 8601, to the second."""
    return datetime.fromtimestamp(seconds, timezone.utc).isoformat(timespec="seconds")
