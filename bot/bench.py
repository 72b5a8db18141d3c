"""The running assistant beside the framework's starter project, both measured in one run.

`python -m bot.bench` starts each in turn on this machine, sends it the same number of
messages over loopback and prints messages a second, time to an answer, memory and start-up.
"""

from __future__ import annotations

import http.client
import json
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import psutil

from bot import lean, paths

MESSAGES = 400
CONNECTIONS = 8
ASKED = (
    "where do AAA batteries go",
    "pizza box",
    "it was a takeaway",
    "empty jam jars, a stack of letters and last week's kitchen roll",
    "what goes in the orange lid bin",
    "can I recycle a rusty bird cage",
    "thanks",
    "hot ash from the stove",
)
STARTER_ASKED = ("hello", "i am sad", "yes", "are you a bot?", "great", "bye", "no", "so sad")


@dataclass(frozen=True)
class Measured:
    """One server's figures."""

    name: str
    ready: float
    rate: float
    median: float
    memory: float


def free_port() -> int:
    """A port nobody uses."""
    import socket

    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


def post(connection: http.client.HTTPConnection, sender: str, message: str) -> bytes:
    """Send one message over the REST channel."""
    metadata = {"district": "oxmere", "on": "2027-02-10"}
    body = json.dumps({"sender": sender, "message": message, "metadata": metadata})
    connection.request("POST", "/webhooks/rest/webhook", body, {"Content-Type": "application/json"})
    response = connection.getresponse()
    body = response.read()
    if response.status != 200:
        raise OSError(f"status {response.status} for {message!r}")
    return body


def load(port: int, asked: Sequence[str]) -> tuple[float, float]:
    """Messages a second and the median milliseconds to an answer, over some connections at once."""
    took: list[float] = []

    def talk(name: str) -> None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        for n in range(MESSAGES // CONNECTIONS):
            start = time.perf_counter()
            post(connection, name, asked[n % len(asked)])
            took.append(time.perf_counter() - start)

    threads = [threading.Thread(target=talk, args=(f"load-{n}",)) for n in range(CONNECTIONS)]
    start = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    seconds = time.perf_counter() - start
    if len(took) != MESSAGES // CONNECTIONS * CONNECTIONS:
        raise SystemExit(f"Only {len(took)} of {MESSAGES} messages were answered.")
    return len(took) / seconds, sorted(took)[len(took) // 2] * 1000


def measure(
    name: str, command: list[str], folder: Path, port: int, asked: Sequence[str]
) -> Measured:
    """Start a server, load it, and stop it."""
    env = {**os.environ, **lean.SETTINGS}
    start = time.perf_counter()
    process = subprocess.Popen(
        command, cwd=folder, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        while True:
            try:
                connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
                if b'"text"' in post(connection, "first", asked[0]):
                    break
            except OSError:
                pass
            if process.poll() is not None or time.perf_counter() - start > 300:
                raise SystemExit(f"{name} did not start.")
            time.sleep(0.2)
        ready = time.perf_counter() - start
        rate, median = load(port, asked)
        family = [psutil.Process(process.pid)]
        family += family[0].children(recursive=True)
        memory = sum(p.memory_full_info().uss for p in family) / 1e6
    finally:
        for child in psutil.Process(process.pid).children(recursive=True):
            child.terminate()
        process.terminate()
        process.wait(30)
    return Measured(name, ready, rate, median, memory)


def make_starter(folder: Path) -> None:
    """The framework's starter project, trained as it comes."""
    rasa = str(Path(sys.executable).with_name("rasa"))
    env = {**os.environ, **lean.SETTINGS}
    for arguments in (["init", "--no-prompt", "--init-dir", str(folder)],):
        subprocess.run([rasa, *arguments], check=True, env=env, capture_output=True)
    (folder / "credentials.yml").write_text("rest:\n", encoding="utf-8")


def main() -> None:
    """Measure both and print a table."""
    with tempfile.TemporaryDirectory() as name:
        temp = Path(name)
        data = temp / "data"
        data.mkdir()
        shutil.copytree(paths.DATA / "models", data / "models")
        port = free_port()
        ours = measure(
            "lidwise",
            [sys.executable, "-m", "bot", "run", "--port", str(port), "--data-dir", str(data)],
            paths.PROJECT,
            port,
            ASKED,
        )
        starter = temp / "starter"
        starter.mkdir()
        print("Making and training the framework's starter project ...", flush=True)
        make_starter(starter)
        port = free_port()
        rasa = str(Path(sys.executable).with_name("rasa"))
        theirs = measure(
            "starter", [rasa, "run", "--port", str(port)], starter, port, STARTER_ASKED
        )
    print(f"{'':10}{'messages/s':>12}{'median ms':>12}{'memory MB':>12}{'ready s':>10}")
    for m in (ours, theirs):
        print(f"{m.name:10}{m.rate:12.0f}{m.median:12.1f}{m.memory:12.0f}{m.ready:10.1f}")
    print(
        f"lidwise to starter: {ours.rate / theirs.rate:.1f} x the messages a second, "
        f"{ours.memory / theirs.memory:.2f} x the memory"
    )


if __name__ == "__main__":
    main()
