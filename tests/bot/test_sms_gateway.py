"""Text messages through a real gateway: Kannel on this machine, with its fake SMS centre as phones.

Kannel is the reference outside the project: it reads our replies, splits them by 3GPP TS 23.038 and
TS 23.040, and hands the parts to the phones.
"""

from __future__ import annotations

import re
import socket
import threading
import time
import urllib.parse
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

from tests.bot import gateway
from tests.bot.conftest import BOOK, Running
from tests.bot.gateway import PASSWORD, USER, Gateway, Phone, free_port
from tests.bot.waiting import until

pytestmark = pytest.mark.skipif(
    bool(gateway.missing()),
    reason=f"{gateway.missing()} is missing: apt-get install kannel kannel-extras",
)

SECRET = "word-of-the-gateway"
QUERY = f"/webhooks/sms/webhook?from=%p&to=%P&text=%a&id=%I&key={SECRET}"


class Dropper:
    """A wire between gateway and assistant that loses the first responses on their way back."""

    def __init__(self, port: int, drops: int) -> None:
        self.port, self.drops, self.calls = port, drops, 0
        self.listener = socket.create_server(("127.0.0.1", 0))
        self.here = self.listener.getsockname()[1]
        threading.Thread(target=self.run, daemon=True).start()

    def run(self) -> None:
        while True:
            try:
                near, _ = self.listener.accept()
            except OSError:
                return
            threading.Thread(target=self.carry, args=(near,), daemon=True).start()

    def carry(self, near: socket.socket) -> None:
        with near, socket.create_connection(("127.0.0.1", self.port)) as far:
            asked = b""
            while b"\r\n\r\n" not in asked:
                more = near.recv(65536)
                if not more:
                    return
                asked += more
            self.calls += 1
            far.sendall(asked.replace(b"Connection: keep-alive", b"Connection: close"))
            if self.calls <= self.drops:
                far.recv(65536)
                return
            while more := far.recv(65536):
                near.sendall(more)
                if b"\r\n\r\n" in more:
                    far.settimeout(0.5)
                    break

    def stop(self) -> None:
        self.listener.close()


class Line:
    """An assistant, a gateway before it, and phones."""

    def __init__(self, folder: Path, models: Path, reply: str) -> None:
        self.data = folder / "data"
        (self.data).mkdir(parents=True)
        (self.data / "models").symlink_to(models / "models")
        self.sendsms = free_port()
        settings = {"secret": {"field": "key", "secret": SECRET}, "reply": reply}
        if reply == "send":
            settings["send"] = {
                "url": f"http://127.0.0.1:{self.sendsms}/cgi-bin/sendsms",
                "method": "GET",
                "fields": {
                    "username": USER,
                    "password": PASSWORD,
                    "to": "{to}",
                    "from": "{from}",
                    "text": "{text}",
                    "charset": "UTF-8",
                },
                "wait": 0.5,
            }
        (self.data / "settings.yml").write_text(yaml.safe_dump({"sms": settings}))
        self.running = Running(self.data, BOOK)
        self.phones: list[Phone] = []
        address = self.running.until("Ready: ").split()[1].rstrip("/")
        self.wire = Dropper(int(address.rpartition(":")[2]), drops=0)
        self.folder = folder
        self.gateway = self.new_gateway("kannel")

    def new_gateway(self, name: str) -> Gateway:
        webhook = f"http://127.0.0.1:{self.wire.here}{QUERY}"
        return Gateway(self.folder / name, webhook, self.sendsms)

    def phone(self, number: str) -> Phone:
        self.phones.append(Phone(self.gateway, number))
        return self.phones[-1]

    def drop_next(self, number: int) -> int:
        """Lose the next responses; the calls so far."""
        self.wire.drops = self.wire.calls + number
        return self.wire.calls

    def hang_up(self) -> None:
        """The fake centre hands each message to whoever is connected: one phone at a time."""
        for phone in self.phones:
            phone.stop()
        self.phones.clear()

    def stop(self) -> None:
        self.hang_up()
        self.wire.stop()
        self.gateway.stop()
        self.running.stop()


@pytest.fixture(scope="module", params=["response", "send"])
def line(request, model_data, tmp_path_factory) -> Iterator[Line]:
    line = Line(tmp_path_factory.mktemp(request.param), model_data, request.param)
    try:
        yield line
    finally:
        line.stop()


@pytest.fixture
def phone(line, request) -> Iterator[Phone]:
    number = f"07700900{sum(request.node.name.encode()) % 900 + 100}"
    yield line.phone(number)
    line.hang_up()


def test_question_reply_and_answer(phone):
    phone.text("pizza box")
    (asked,) = phone.wait_for(1)
    assert asked == (
        "Pizza box: Takeaway, or cooked at home? Reply 1 From a takeaway, 2 Cooked at home"
    )
    phone.text("1.")
    answer = phone.wait_for(2)[1]
    assert answer.startswith("Pizza box: general waste.")
    phone.text("STOP")
    assert "no more texts" in phone.wait_for(3)[2]
    phone.text("tins")
    phone.text("START")
    assert "old paint" in phone.wait_for(4)[3]


def test_long_reply_comes_in_two_linked_parts(phone):
    phone.text("a camera in oxmere")
    words = phone.wait_for(2)
    headers = [header for header, _ in phone.parts()]
    assert [h[:3] for h in headers] == [b"\x05\x00\x03"] * 2
    assert headers[0][3] == headers[1][3]
    assert [h[4:] for h in headers] == [b"\x02\x01", b"\x02\x02"]
    assert max(map(len, words)) <= 153
    whole = "".join(words)
    assert whole.startswith("Camera: ") and whole.endswith(".")
    assert "Never put it in any bin, sack, box or caddy." in whole
    time.sleep(1)
    assert len(phone.parts()) == 2


def test_letters_of_the_alphabet_arrive_as_they_are(phone):
    phone.text("a piñata")
    assert phone.wait_for(1)[0].startswith("A piñata: general waste (careful answer).")


def test_live_danger(phone):
    phone.text("help my scooter battery is smoking")
    assert phone.wait_for(1)[0].startswith("CALL 999 NOW.")


def test_lost_response_is_made_good_and_nothing_is_answered_twice(line, phone):
    before = line.drop_next(2)
    phone.text("used tissues")
    phone.wait_for(1, seconds=40)
    until(lambda: line.wire.calls >= before + 3, "the gateway tried again")
    time.sleep(2)
    assert len(phone.parts()) == 1
    assert phone.wait_for(1)[0].startswith("Tissue: general waste.")


def test_reply_waits_while_the_gateway_is_away(line, phone):
    if line.running.data.parent.name.startswith("response"):
        pytest.skip("only where replies are sent by a call")
    phone.text("plastic bottles")
    phone.wait_for(1)
    line.hang_up()
    line.gateway.stop()
    status = webhook(line, "07700900199", "glass jars")
    assert status == 200
    time.sleep(1)
    line.gateway = line.new_gateway("kannel-again")
    again = line.phone("07700900199")
    assert "jar" in again.wait_for(1, seconds=40)[0].lower()


def webhook(line: Line, number: str, text: str) -> int:
    """A call of the webhook as the gateway would have made it just before it went down."""
    query = urllib.parse.urlencode({"from": number, "to": "80800", "text": text, "key": SECRET})
    address = f"http://127.0.0.1:{line.wire.port}/webhooks/sms/webhook?{query}"
    with urllib.request.urlopen(address, timeout=30) as response:
        return int(response.status)


def test_no_number_is_left_on_this_side(line):
    """After all that: nothing in the data folder and its logs has a number in any spelling."""
    spelt = re.compile(rb"7700[ +%20-]*900[ +%20-]*\d{3}")
    files = [p for p in line.data.rglob("*") if p.is_file()]
    assert {p.name for p in files} >= {"sms.db", "conversations.db", "server.log"}
    for path in files:
        assert not spelt.search(path.read_bytes()), path
