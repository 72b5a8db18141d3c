"""Starts the servers, watches them, and leaves none behind."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from bot import lean, paths

GRACE = 6.0
"""Seconds a server has to stop by itself."""


class Failed(Exception):
    """Something a person has to know, in one line."""


def listen(host: str, port: int) -> socket.socket:
    """A socket for a server, taken here so that a busy port is known before anything is started."""
    try:
        family, kind, proto, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
    except OSError:
        raise Failed(f"There is no host '{host}' here. Try --host 127.0.0.1.") from None
    listener = socket.socket(family, kind, proto)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(address)
    except PermissionError:
        raise Failed(f"Port {port} needs more rights. Try --port 5005.") from None
    except OSError as error:
        listener.close()
        if error.errno == 98 or "in use" in str(error).lower():
            raise Failed(
                f"Port {port} is in use by another program. Stop that, or try --port {port + 1}."
            ) from None
        raise Failed(f"{host} port {port} cannot be used: {error.strerror}.") from None
    return listener


def address_of(listener: socket.socket, scheme: str = "http") -> str:
    """The address people use for a socket."""
    host, port = listener.getsockname()[:2]
    host = {"0.0.0.0": "127.0.0.1", "::": "[::1]"}.get(host, host)
    return f"{scheme}://{f'[{host}]' if ':' in host and '[' not in host else host}:{port}"


class Server:
    """One server process. Its standard input is a pipe that closes when this process ends."""

    def __init__(
        self, name: str, module: str, listener: socket.socket, arguments: Sequence[str], log: Path
    ) -> None:
        self.name, self.log = name, log
        self.address = address_of(listener)
        log.parent.mkdir(parents=True, exist_ok=True)
        if log.exists():
            log.replace(log.with_suffix(".before.log"))
        with log.open("wb") as out:
            self.process = subprocess.Popen(
                [sys.executable, "-m", module, str(listener.fileno()), *arguments],
                stdin=subprocess.PIPE,
                stdout=out,
                stderr=out,
                pass_fds=[listener.fileno()],
                cwd=paths.PROJECT,
                env={**lean.SETTINGS, **os.environ},
                start_new_session=True,
            )
        listener.close()

    def alive(self) -> bool:
        """Whether the process runs."""
        return self.process.poll() is None

    def healthy(self, path: str) -> bool:
        """Whether it answers."""
        return fetch(self.address + path) is not None

    def ask_to_stop(self) -> None:
        """Tell it to stop."""
        if self.alive():
            with contextlib.suppress(ProcessLookupError):
                self.process.send_signal(signal.SIGTERM)

    def stop(self, until: float) -> None:
        """Wait for its end; past a moment, end it and whatever it started."""
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(max(0.1, until - time.monotonic()))
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(self.process.pid, signal.SIGKILL)
        self.process.wait()
        if self.process.stdin:
            self.process.stdin.close()


def fetch(url: str) -> Any:
    """JSON from an address, or nothing."""
    try:
        with urllib.request.urlopen(url, timeout=5) as response:
            return json.loads(response.read())
    except (OSError, ValueError, urllib.error.URLError):
        return None


def stop_all(servers: Sequence[Server]) -> None:
    """Stop servers, all at once."""
    for server in servers:
        server.ask_to_stop()
    until = time.monotonic() + GRACE
    for server in servers:
        server.stop(until)
