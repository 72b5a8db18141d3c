"""Where conversations are kept, and how two messages of one conversation stay in order.

The framework reads, writes and sends on a whole conversation at each message. These classes hold
that to its tail, so that a long conversation costs no more than a short one.
"""

from __future__ import annotations

import contextlib
import itertools
import json
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import AbstractAsyncContextManager
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from rasa.core.brokers.broker import EventBroker
from rasa.core.lock import TicketLock
from rasa.core.lock_store import LOCK_LIFETIME, InMemoryLockStore
from rasa.core.tracker_store import SQLTrackerStore
from rasa.shared.core.domain import Domain
from rasa.shared.core.trackers import DialogueStateTracker
from sqlalchemy.orm import Session, sessionmaker

from bot.record import store as record
from bot.record.entry import TABLE
from bot.record.turns import rows
from bot.storage import engine

TAIL = 18
"""Events of a conversation that are read back: three turns. The memory slot is in the last."""


class Conversations(SQLTrackerStore):  # type: ignore[misc]
    """The framework's SQL store on one SQLite file. Everything is kept, the tail is read back.

    With each turn its row of the record is saved. Where `clock` is set (seconds since 1970), it
    tells the time of what is new; `demo` marks what no resident asked.
    """

    clock: Callable[[], float] | None = None
    demo = False

    def __init__(
        self,
        domain: Domain | None = None,
        host: str | None = None,
        event_broker: EventBroker | None = None,
        db: str = "conversations.db",
        **kwargs: Any,
    ) -> None:
        super().__init__(domain=domain, db=db, event_broker=event_broker, **kwargs)
        self.engine.dispose()
        self.engine = engine(Path(db))
        self.sessionmaker = sessionmaker(bind=self.engine)
        TABLE.metadata.create_all(self.engine)

    @contextlib.contextmanager
    def session_scope(self) -> Iterator[Session]:
        """A session; the framework's own would end the program on any `ValueError`."""
        with self.sessionmaker() as session:
            yield session

    async def _retrieve(
        self, sender_id: str, fetch_events_from_all_sessions: bool
    ) -> DialogueStateTracker | None:
        column = self.SQLEvent
        with self.session_scope() as session:
            query = session.query(column.data).filter(column.sender_id == sender_id)
            if fetch_events_from_all_sessions:
                rows = query.order_by(column.id).all()
            else:
                rows = query.order_by(column.id.desc()).limit(TAIL).all()[::-1]
        if not rows or not self.domain:
            return None
        events = [json.loads(data) for (data,) in rows]
        tracker = DialogueStateTracker.from_dict(sender_id, events, self.domain.slots)
        tracker.stored = len(tracker.events)
        return tracker

    async def save(self, tracker: DialogueStateTracker) -> None:
        """Append the events that are new, and the record's row."""
        await self.stream_events(tracker)
        with self.session_scope() as session:
            new = [event.as_dict() for event in self._additional_events(session, tracker)]
            if self.clock is not None:
                now = self.clock()
                new = [{**event, "timestamp": now} for event in new]
            session.add_all(self.SQLEvent(**columns(tracker.sender_id, event)) for event in new)
            record.add(session.connection(), rows(tracker.sender_id, new, self.demo))
            session.commit()
        tracker.stored = len(tracker.events)

    def _additional_events(self, session: Session, tracker: DialogueStateTracker) -> Iterator[Any]:
        stored = getattr(tracker, "stored", None)
        if stored is None:
            return iter(super()._additional_events(session, tracker))
        return itertools.islice(tracker.events, stored, None)

    def alive(self) -> bool:
        """Whether the file answers."""
        with self.session_scope() as session:
            session.execute(sa.text("SELECT 1 FROM events LIMIT 1"))
        return True


def columns(sender: str, event: dict[str, Any]) -> dict[str, Any]:
    """An event as a row of the framework's own table."""
    return {
        "sender_id": sender,
        "type_name": event["event"],
        "timestamp": event.get("timestamp"),
        "intent_name": ((event.get("parse_data") or {}).get("intent") or {}).get("name"),
        "action_name": event.get("name"),
        "data": json.dumps(event),
    }


class Locks(InMemoryLockStore):  # type: ignore[misc]
    """The framework's lock per conversation, which looks again after 20 ms, not after a second."""

    def __init__(self, endpoint_config: Any = None) -> None:
        super().__init__()

    def lock(
        self,
        conversation_id: str,
        lock_lifetime: float = LOCK_LIFETIME,
        wait_time_in_seconds: float = 0.02,
    ) -> AbstractAsyncContextManager[AsyncIterator[TicketLock]]:
        """Hold the lock of a conversation."""
        held: AbstractAsyncContextManager[AsyncIterator[TicketLock]] = super().lock(
            conversation_id, lock_lifetime, wait_time_in_seconds
        )
        return held
