"""A running assistant, started as a person starts it, and helpers to talk to it."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psutil
import pytest

from bot import paths, training
from tests.bot import browser

START = 240
BOOK = paths.PROJECT / "rules" / "book"
ENVIRONMENT = {k: v for k, v in os.environ.items() if k not in ("LIDWISE_BOOK", "LIDWISE_RULES")}


def command(*arguments: str | Path) -> list[str]:
    return [sys.executable, "-m", "bot", *map(str, arguments)]


def lidwise(*arguments: str | Path, timeout: float = START) -> subprocess.CompletedProcess[str]:
    """Run a command to its end."""
    return subprocess.run(
        command(*arguments),
        capture_output=True,
        text=True,
        timeout=timeout,
        stdin=subprocess.DEVNULL,
        cwd=paths.PROJECT,
        env=ENVIRONMENT,
    )


class Running:
    """`lidwise run`, with what it printed so far."""

    def __init__(self, data: Path, rules: Path, *more: str) -> None:
        self.data, self.rules = data, rules
        self.process = subprocess.Popen(
            command("run", "--port", "0", "--data-dir", data, "--rules", rules, *more),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            text=True,
            cwd=paths.PROJECT,
            env=ENVIRONMENT,
        )
        self.printed: list[str] = []
        self.reader = threading.Thread(target=self.read, daemon=True)
        self.reader.start()
        self.seen: list[psutil.Process] = []

    def read(self) -> None:
        assert self.process.stdout
        for line in self.process.stdout:
            self.printed.append(line.rstrip("\n"))

    def until(self, start: str, seconds: float = START) -> str:
        """Wait for a line that starts so."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for line in list(self.printed):
                if line.startswith(start):
                    return line
            if self.process.poll() is not None and not self.reader.is_alive():
                break
            time.sleep(0.1)
        raise AssertionError(f"no line starts with {start!r}: {self.printed}")

    def servers(self) -> list[psutil.Process]:
        """The processes it started, remembered for later."""
        self.seen = psutil.Process(self.process.pid).children(recursive=True)
        return self.seen

    def one(self, module: str) -> psutil.Process:
        return next(p for p in self.servers() if module in p.cmdline())

    def ended(self, seconds: float = 15) -> int:
        return self.process.wait(seconds)

    def left(self, seconds: float = 0.0) -> list[psutil.Process]:
        """Processes it started that are still there."""
        _, alive = psutil.wait_procs(self.seen, timeout=seconds)
        return [p for p in alive if p.status() != psutil.STATUS_ZOMBIE]

    def stop(self) -> None:
        if self.process.poll() is None:
            self.servers()
            self.process.send_signal(signal.SIGINT)
            self.ended()
        assert self.left() == []


class Site:
    """What answers at an address."""

    def __init__(self, address: str) -> None:
        self.address = address.rstrip("/")
        self.count = 0

    def request(
        self, path: str, body: bytes | None = None, method: str | None = None, **headers: str
    ) -> tuple[int, dict[str, str], bytes]:
        asked = urllib.request.Request(self.address + path, body, headers, method=method)
        try:
            with urllib.request.urlopen(asked, timeout=60) as response:
                return response.status, dict(response.headers), response.read()
        except urllib.error.HTTPError as error:
            return error.code, dict(error.headers), error.read()

    def json(self, path: str) -> Any:
        return json.loads(self.request(path)[2])

    def post(self, body: bytes) -> tuple[int, Any]:
        status, _, answer = self.request("/webhooks/rest/webhook", body, "POST")
        return status, json.loads(answer)

    def say(self, message: str, sender: str | None = None, **metadata: Any) -> list[dict[str, Any]]:
        """The messages of a reply; a conversation of its own unless a sender is named."""
        self.count += 1
        body = {"sender": sender or f"test-{self.count}", "message": message, "metadata": metadata}
        status, answer = self.post(json.dumps(body).encode())
        assert status == 200, answer
        return list(answer)

    def answer(self, message: str, sender: str | None = None, **metadata: Any) -> dict[str, Any]:
        """The machine-readable answer."""
        (found,) = [m["custom"] for m in self.say(message, sender, **metadata) if "custom" in m]
        return dict(found)


def with_model(data: Path) -> Path:
    """A data folder with the project's model in it, if that fits; it is trained there if not."""
    if training.is_current(paths.DATA):
        shutil.copytree(paths.DATA / "models", data / "models")
    elif not training.is_current(data):
        assert lidwise("train", "--data-dir", data).returncode == 0
    return data


@pytest.fixture(scope="session")
def model_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return with_model(tmp_path_factory.mktemp("model"))


@pytest.fixture
def fresh(model_data: Path, tmp_path: Path) -> Path:
    """A data folder with a model and nothing else."""
    shutil.copytree(model_data / "models", tmp_path / "data" / "models")
    return tmp_path / "data"


@pytest.fixture(scope="session")
def running(model_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    folder = tmp_path_factory.mktemp("running")
    shutil.copytree(BOOK, folder / "rules")
    shutil.copytree(model_data / "models", folder / "data" / "models")
    run = Running(folder / "data", folder / "rules")
    try:
        run.until("Ready: ")
        yield run
    finally:
        run.stop()


@pytest.fixture(scope="session")
def site(running: Running) -> Site:
    return Site(running.until("Ready: ").split()[1])


@pytest.fixture(scope="module")
def chrome(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    driver = browser.start(tmp_path_factory.mktemp("profile"))
    yield driver
    driver.quit()


@pytest.fixture
def page(chrome: Any, site: Site) -> Iterator[browser.Page]:
    """The browser as in a new tab; afterwards: no error, no third party, no cookie."""
    page = browser.Page(chrome, site.address)
    page.fresh()
    yield page
    assert page.complaints() == []
    assert page.hosts() <= {page.host}
    assert page.cookies() == []
