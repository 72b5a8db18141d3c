"""How a SQLite file of the data folder is opened, the same for all that keep something in one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.pool import NullPool, StaticPool


def engine(path: Path, shared: bool = False) -> sa.engine.Engine:
    """An engine with one connection, for calls from one thread at a time; or `shared`, with a
    connection for each call, from any thread."""
    made = sa.create_engine(
        f"sqlite:///{path}",
        poolclass=NullPool if shared else StaticPool,
        connect_args={"check_same_thread": False},
    )
    sa.event.listen(made, "connect", quick)
    return made


def with_tables(path: Path, tables: sa.MetaData, shared: bool = False) -> sa.engine.Engine:
    """The same with its tables made, in a file that only its owner may read."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch(mode=0o600)
    made = engine(path, shared)
    tables.create_all(made)
    path.chmod(0o600)
    return made


def quick(connection: Any, _: Any) -> None:
    """Settings of SQLite under which a saved message costs no wait for the disk.

    With a write-ahead log this loses no message in a crash of the program, only in one of power.
    """
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=NORMAL")
    connection.execute("PRAGMA busy_timeout=5000")
