"""A real SMS gateway on this machine, and phones behind it: Kannel and its fake SMS centre.

Kannel (Debian packages kannel and kannel-extras) knows nothing of this project: what comes out at
its far end went through somebody else's reading of 3GPP TS 23.038 and TS 23.040.
"""

from __future__ import annotations

import re
import shutil
import signal
import socket
import subprocess
import threading
from pathlib import Path
from urllib.parse import unquote_to_bytes

from tests.bot.waiting import until

BOXES = {
    name: shutil.which(name, path="/usr/sbin:/usr/local/sbin") for name in ("bearerbox", "smsbox")
}
FAKE = Path("/usr/lib/kannel/test/fakesmsc")
USER, PASSWORD = "lidwise", "gateway-password"

CONF = """
group = core
admin-port = {admin}
admin-password = none-needed
smsbox-port = {box}
box-allow-ip = 127.0.0.1
log-file = {folder}/bearerbox.log
log-level = 0

group = smsc
smsc = fake
smsc-id = fake
host = 127.0.0.1
port = {smsc}
connect-allow-ip = 127.0.0.1

group = smsbox
bearerbox-host = 127.0.0.1
sendsms-port = {sendsms}
sendsms-interface = 127.0.0.1
log-file = {folder}/smsbox.log
log-level = 0
http-request-retry = 5
http-queue-delay = 1

group = sms-service
keyword = default
get-url = "{webhook}"
max-messages = 2
concatenation = true
omit-empty = true

group = sendsms-user
username = {user}
password = {password}
max-messages = 2
concatenation = true
"""


def missing() -> str:
    """What the tests need and this machine lacks."""
    lacking = [name for name, path in BOXES.items() if not path]
    return ", ".join(lacking + ([] if FAKE.exists() else ["fakesmsc"]))


def free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


def answers(port: int) -> bool:
    with socket.socket() as s:
        s.settimeout(1)
        return s.connect_ex(("127.0.0.1", port)) == 0


class Gateway:
    """Kannel's two programs. `webhook` is what it calls with each received message."""

    def __init__(self, folder: Path, webhook: str, sendsms: int | None = None) -> None:
        self.folder = folder
        folder.mkdir(parents=True, exist_ok=True)
        self.smsc, self.box, self.admin = free_port(), free_port(), free_port()
        self.sendsms = sendsms or free_port()
        self.conf = folder / "kannel.conf"
        self.conf.write_text(
            CONF.format(
                folder=folder,
                admin=self.admin,
                box=self.box,
                smsc=self.smsc,
                sendsms=self.sendsms,
                webhook=webhook,
                user=USER,
                password=PASSWORD,
            )
        )
        self.processes: list[subprocess.Popen[bytes]] = []
        self.start("bearerbox", self.smsc)
        self.start("smsbox", self.sendsms)

    def start(self, name: str, port: int) -> None:
        out = (self.folder / f"{name}.out").open("wb")
        self.processes.append(
            subprocess.Popen(
                [str(BOXES[name]), str(self.conf)],
                stdout=out,
                stderr=out,
                stdin=subprocess.DEVNULL,
                cwd=self.folder,
            )
        )
        until(lambda: answers(port), f"{name} listens; {self.folder} has its logs")

    def stop(self) -> None:
        for process in reversed(self.processes):
            process.send_signal(signal.SIGTERM)
            try:
                process.wait(10)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()


class Phone:
    """The far end of the gateway: sends messages of one number, gets what is sent to it."""

    def __init__(self, gateway: Gateway, number: str, service: str = "80800") -> None:
        self.number, self.service = number, service
        self.process = subprocess.Popen(
            [str(FAKE), "-H", "127.0.0.1", "-r", str(gateway.smsc)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )
        self.lines: list[bytes] = []
        self.said = 0
        self.reader = threading.Thread(target=self.read, daemon=True)
        self.reader.start()

    def read(self) -> None:
        assert self.process.stdout
        for line in self.process.stdout:
            self.lines.append(line)

    def text(self, words: str) -> None:
        """Send a message, once the one before is away."""
        assert self.process.stdin
        until(lambda: self.away() == self.said, "the message before is away")
        self.said += 1
        self.process.stdin.write(f"{self.number} {self.service} text {words}\n".encode())
        self.process.stdin.flush()

    def away(self) -> int:
        return sum(b"fakesmsc: sent message" in line for line in list(self.lines))

    def parts(self) -> list[tuple[bytes, bytes]]:
        """The messages that came: header and words."""
        found = []
        for line in list(self.lines):
            got = re.search(rb"[Gg]ot message \d+: <(\S+) (\S+) (\S+) (.*)>\s*$", line)
            if not got:
                continue
            kind, rest = got[3], got[4]
            if kind == b"udh":
                header, _, words = rest.partition(b" data ")
                found.append(
                    (unquote_to_bytes(header), unquote_to_bytes(words.replace(b"+", b" ")))
                )
            else:
                found.append((b"" if kind == b"text" else kind, rest))
        return found

    def wait_for(self, number: int, seconds: float = 30) -> list[str]:
        """The words of the messages once so many parts have come."""
        until(
            lambda: len(self.parts()) >= number, f"{number} parts came, not {self.lines}", seconds
        )
        return [words.decode() for _, words in self.parts()]

    def stop(self) -> None:
        self.process.terminate()
        self.process.wait(10)
