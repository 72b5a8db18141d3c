"""One turn of a stored conversation: what was asked, and what was answered."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

FAR = 600
"""Messages of a conversation that are looked through, newest first."""


@dataclass(frozen=True, slots=True)
class Turn:
    """`reply` is the contract of the answer, `None` if none was given."""

    question: str
    metadata: dict[str, Any]
    reply: dict[str, Any] | None


def find(store: Any, sender: str, message_id: str) -> Turn | None:
    """The turn of a sender that a message began, by the id its channel gave that message."""
    inner = getattr(store, "_tracker_store", store)
    event = inner.SQLEvent
    with inner.session_scope() as session:
        rows = (
            session.query(event.data)
            .filter(event.sender_id == sender, event.type_name.in_(("user", "bot")))
            .order_by(event.id.desc())
            .limit(FAR)
            .all()
        )
    reply = None
    for (text,) in rows:
        data = json.loads(text)
        if data["event"] == "bot":
            reply = (data.get("data") or {}).get("custom") or reply
        elif data.get("message_id") == message_id:
            return Turn(data.get("text") or "", data.get("metadata") or {}, reply)
        else:
            reply = None
    return None
