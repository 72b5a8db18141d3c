"""The SMS webhook: who may call it, what it reads, retries, commands, limits, sending, numbers."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import re
import subprocess
import threading
import time
import urllib.parse
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from rasa.core.channels.channel import InputChannel

from bot.processes import Failed
from bot.sms import keywords, numbers
from bot.sms import options as opts
from bot.sms.desk import Answer
from tests.bot.webhook import SECRET, SHARED, Hook, SendAddress, Stub

ANN, BEN = "07700 900111", "07700 900222"

Make = Callable[..., Hook]


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Make]:
    """Starts a webhook; the data folder stays the same over several."""
    made: list[Hook] = []

    def start(settings: dict[str, Any] = SHARED, stub: Stub | None = None) -> Hook:
        made.append(Hook(tmp_path / "data", settings, stub))
        return made[-1]

    yield start
    for hook in made:
        if hook.thread.is_alive():
            hook.stop()


@pytest.fixture
def hook(make: Make) -> Hook:
    return make()


@pytest.fixture
def address() -> Iterator[SendAddress]:
    there = SendAddress()
    yield there
    there.stop()


def sending(address: SendAddress, **more: Any) -> dict[str, Any]:
    fields = {"to": "{to}", "sender": "{from}", "message": "{text}", "ref": "{ref}"}
    send = {"url": address.url, "fields": fields, "wait": 0.05, **more}
    return {**SHARED, "reply": "send", "send": send}


# What it reads


@pytest.mark.parametrize(
    ("body", "query", "head"),
    [
        ({"from": ANN, "text": "pizza box"}, None, {}),
        ('{"from": "07700 900111", "text": "pizza box"}', None, {"content-type": "text/plain"}),
        ("from=07700900111&text=pizza+box", None, {}),
        ("from=%2B447700900111&text=pizza%20box&other=1", None, {}),
        (None, {"from": ANN, "text": "pizza box"}, {}),
        ("text=pizza+box", {"from": ANN}, {}),
        (
            '--edge-7\r\ncontent-disposition: form-data; name="from"\r\n\r\n07700900111\r\n'
            "--edge-7\r\n"
            'content-disposition: form-data; name="text"\r\n\r\npizza box\r\n--edge-7--\r\n',
            None,
            {"content-type": "multipart/form-data; boundary=edge-7"},
        ),
    ],
    ids=["json", "json as text", "form", "form with plus", "query", "both", "multipart"],
)
def test_form_query_and_json_are_read_alike(hook, body, query, head):
    assert hook.call(body, query, **head) == (200, "Answer 1: pizza box")
    assert hook.stub.asked[0][0] == f"sms-{hook.numbers.name(ANN)}"


def test_fields_have_the_names_the_gateway_gives_them(make):
    hook = make(
        {
            **SHARED,
            "fields": {"from": "data.0.msisdn", "text": "data.0.body", "id": ["data.0.no", "at"]},
        }
    )
    body = {"data": [{"msisdn": 447700900111, "body": "tins", "no": 7}], "at": "noon"}
    assert hook.call(body) == (200, "Answer 1: tins")
    assert hook.call(body) == (200, "Answer 1: tins")
    assert hook.call({**body, "at": "one"}) == (200, "Answer 2: tins")


@pytest.mark.parametrize(
    ("body", "named"),
    [
        ({"text": "x"}, "'from'"),
        ({"from": "  ", "text": "x"}, "'from'"),
        ({"from": {}, "text": "x"}, "'from'"),
        ({"from": ANN}, "'text'"),
        ("{not json", "JSON"),
        ("[1]", "object"),
        ("&".join(f"a{n}=1" for n in range(200)), "too many fields"),
    ],
)
def test_call_that_cannot_be_read_names_what_to_mend(hook, body, named):
    head = {"content-type": "application/json"} if body == "[1]" else {}
    status, told = hook.call(body, **head)
    assert status == 400
    assert named in json.loads(told)["error"]
    assert "900111" not in told
    assert hook.stub.asked == []


def test_body_that_is_too_large(hook):
    assert hook.call({"from": ANN, "text": "x" * 21_000})[0] == 413


def test_long_and_odd_texts_are_answered(hook):
    for text in ("x" * 9000, "\x00\x01", "😀" * 70, "/restart", "\ud800"):
        assert hook.call({"from": ANN, "text": text})[0] == 200, text


def test_other_methods_are_refused(hook):
    out = subprocess.run(
        ["curl", "-s", "-o", "/dev/null", "-w", "%{http_code}", "-X", "PUT",
         f"http://127.0.0.1:{hook.port}/webhooks/sms/webhook"],
        capture_output=True, text=True,
    )  # fmt: skip
    assert out.stdout == "405"


# Who may call it


@pytest.mark.parametrize("secret", [None, "", "wrong", SECRET + "x", SECRET[:-1], "Ü"])
def test_wrong_secret_gets_403_and_nothing_else(hook, secret):
    body = {"from": ANN, "text": "x"}
    head = {} if secret is None else {"x-key": secret.encode("utf-8").decode("latin-1")}
    assert hook.call(body, secret=None, **head) == (403, "")
    assert hook.call("{", secret=None, **head) == (403, "")
    assert hook.stub.asked == []


def test_secret_in_a_field(make):
    hook = make({"secret": {"field": "key", "secret": SECRET}})
    good = {"from": ANN, "text": "x", "key": SECRET}
    assert hook.call(None, good, secret=None)[0] == 200
    assert hook.call(None, {**good, "key": "other"}, secret=None) == (403, "")
    assert hook.call({"from": ANN, "text": "x"}, secret=None) == (403, "")


def openssl(algorithm: str, key: str, body: bytes) -> bytes:
    """A signature made by OpenSSL's command, an implementation that is not ours."""
    return subprocess.run(
        ["openssl", "dgst", f"-{algorithm}", "-hmac", key, "-binary"],
        input=body,
        capture_output=True,
        check=True,
    ).stdout


@pytest.mark.parametrize("encoding", ["hex", "base64"])
@pytest.mark.parametrize("algorithm", ["sha1", "sha256", "sha512"])
def test_signature(make, algorithm, encoding):
    told = {"header": "X-Sig", "algorithm": algorithm, "encoding": encoding, "prefix": "v="}
    hook = make({"hmac": {**told, "secret": SECRET}})

    def spelt(made: bytes) -> str:
        return "v=" + (made.hex() if encoding == "hex" else base64.b64encode(made).decode())

    body = json.dumps({"from": ANN, "text": "tins"}).encode()
    good = spelt(openssl(algorithm, SECRET, body))
    assert hook.call(body, secret=None, **{"x-sig": good}) == (200, "Answer 1: tins")
    for wrong in (spelt(openssl(algorithm, "another-key", body)), "", "v=", good[:-2], "v=ü"):
        head = {"x-sig": wrong.encode().decode("latin-1")}
        assert hook.call(body, secret=None, **head) == (403, ""), wrong
    assert hook.call(body + b" ", secret=None, **{"x-sig": good}) == (403, "")
    query = {"from": ANN, "text": "paint"}
    raw = urllib.parse.urlencode(query).encode()
    signed = spelt(openssl(algorithm, SECRET, raw))
    assert hook.call(None, query, secret=None, **{"x-sig": signed})[0] == 200


def test_signature_of_the_standard():
    """RFC 4231, test case 2: HMAC-SHA-256 of a known key and text."""
    made = hmac.new(b"Jefe", b"what do ya want for nothing?", hashlib.sha256).hexdigest()
    assert made == "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"


# What the gateway gets


def test_reply_as_json_and_as_xml(make):
    told = {"json": {"messages": [{"to": "{to}", "body": "{text}"}], "n": 1}}
    hook = make({**SHARED, "response": told})
    hook.stub.says = lambda text: Answer('Say "yes" & <no> {to}')
    _, body = hook.call({"from": ANN, "text": "a"})
    assert json.loads(body) == {
        "messages": [{"to": ANN, "body": 'Say "yes" & <no> {to}'}],
        "n": 1,
    }
    hook.stop()
    xml = {"type": "application/xml", "body": "<reply to='{to}'>{text}</reply>"}
    hook = make({**SHARED, "response": xml})
    hook.stub.says = lambda text: Answer('Say "yes" & <no>')
    _, body = hook.call({"from": ANN, "text": "b"})
    assert body == f"<reply to='{ANN}'>Say &quot;yes&quot; &amp; &lt;no&gt;</reply>"


# Trying again


def test_second_try_gets_the_same_reply_and_is_not_answered_again(hook):
    first = hook.text(ANN, "tins", "m1")
    assert [hook.text(ANN, "tins", "m1") for _ in range(3)] == [first] * 3
    assert hook.text("+447700900111", "tins", "m1") == first
    assert len(hook.stub.asked) == 1
    assert hook.text(ANN, "tins", "m2") != first
    assert hook.text(BEN, "tins", "m1") != first


def test_second_try_after_a_restart(make):
    first = make()
    reply = first.text(ANN, "tins", "m1")
    first.stop()
    second = make()
    assert second.text(ANN, "tins", "m1") == reply
    assert second.stub.asked == []


def test_tries_at_the_same_time_are_answered_once(hook):
    hook.stub.seconds = 0.4
    replies: list[str] = []
    threads = [
        threading.Thread(target=lambda: replies.append(hook.text(ANN, "tins", "m1")))
        for _ in range(8)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert replies == ["Answer 1: tins"] * 8
    assert len(hook.stub.asked) == 1


def test_gateway_that_hangs_up_finds_the_reply_at_its_next_try(hook):
    hook.stub.seconds = 1.0
    with pytest.raises(OSError):
        hook.call({"from": ANN, "text": "tins", "id": "m1"}, timeout=0.2)
    hook.stub.seconds = 0.0
    assert hook.text(ANN, "tins", "m1") == "Answer 1: tins"
    assert len(hook.stub.asked) == 1


def test_message_whose_answer_was_cut_off_by_a_crash_is_answered_then(make):
    first = make()
    name = first.numbers.name(ANN)
    key = first.numbers.mac("message", name, "id", '["m1"]').hex()
    first.store.begin(key, name, time.time())
    first.stop()
    assert make().text(ANN, "tins", "m1") == "Answer 1: tins"


def test_without_an_id_the_same_text_counts_again_after_a_while(make):
    hook = make({**SHARED, "repeat_within": 1})
    first = hook.text(ANN, "1")
    assert hook.text(ANN, "1") == first
    assert hook.text(BEN, "1") != first
    time.sleep(1.1)
    assert hook.text(ANN, "1") != first


def test_failure_inside_leaves_the_message_to_the_next_try(hook):
    def fail(_: str) -> Answer:
        raise RuntimeError("broken")

    hook.stub.says = fail
    status, told = hook.call({"from": ANN, "text": "tins", "id": "m1"})
    assert status == 500
    assert "broken" not in told and "Traceback" not in told
    hook.stub.says = None
    assert hook.text(ANN, "tins", "m1") == "Answer 2: tins"


def test_two_messages_of_one_person_keep_their_order(hook):
    hook.stub.seconds = 0.3
    thread = threading.Thread(target=lambda: hook.text(ANN, "tins", "m1"))
    thread.start()
    time.sleep(0.1)
    assert hook.text(ANN, "paint", "m2") == "Answer 2: paint"
    thread.join()
    assert [text for _, text, _, _ in hook.stub.asked] == ["tins", "paint"]


# Commands (common practice of text message services, no source)


@pytest.mark.parametrize(
    "word",
    ["STOP", "stop", " Stop. ", "STOPALL", "stop all", "Unsubscribe", "CANCEL", "end", "QUIT!"],
)
def test_stop_is_confirmed_once_and_then_there_is_silence(hook, word):
    confirmed = hook.text(ANN, word, "1")
    assert "no more texts" in confirmed and "START" in confirmed
    for number, text in enumerate(["STOP", "tins", "HELP", "", "1"]):
        assert hook.text(ANN, text, f"silent-{number}") == ""
    assert hook.text(BEN, "tins") == "Answer 3: tins"
    assert "STOP" in hook.text(ANN, "start", "back")
    assert hook.text(ANN, "tins", "again") == "Answer 4: tins"


def test_stop_holds_after_a_restart(make):
    first = make()
    first.text(ANN, "STOP")
    first.stop()
    assert make().text("0044 7700 900111", "tins") == ""


def test_danger_is_answered_even_after_stop(hook):
    hook.text(ANN, "STOP")
    hook.stub.says = lambda text: Answer("CALL 999 NOW.", "emergency" if "fire" in text else "x")
    assert hook.text(ANN, "battery on fire") == "CALL 999 NOW."
    assert hook.text(ANN, "tins") == ""


@pytest.mark.parametrize("word", ["HELP", "help", "Help?", "INFO", "info."])
def test_help_says_who_this_is_and_how_to_stop(hook, word):
    told = hook.text(ANN, word)
    assert "Merrowdale waste partnership" in told
    assert "01632 960118" in told and "STOP" in told
    assert len(told) <= 160
    assert hook.stub.asked == []


@pytest.mark.parametrize("text", ["", " ", "\n", "\t \r\n"])
def test_empty_message_gets_an_example(hook, text):
    assert "such as: old paint" in hook.text(ANN, text)
    assert hook.stub.asked == []


@pytest.mark.parametrize(
    "text",
    [
        "help my battery is smoking",
        "stop smoking",
        "end table",
        "cancel my garden waste",
        "information",
        "start",
        "how do I stop this",
        "quit it",
    ],
)
def test_command_words_count_only_alone(hook, text):
    assert keywords.command(text) == ("start" if text == "start" else "")


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1", "1"), ("1.", "1"), (" 2) ", "2"), ("(3)", "3"), ("#2", "2"), ("option 2", "2"),
        ("Option two", "2"), ("no. 2", "2"), ("number 1 please", "1"), ("the first one", "1"),
        ("2nd", "2"), ("the 2nd option", "2"), ("reply 1", "1"), ("It is 3", "3"), ("four", "4"),
        ("1 thanks", "1"), ("answer 2 x", "2"),
    ],
)  # fmt: skip
def test_ways_to_say_a_number(text, number):
    assert keywords.choice(text) == number


@pytest.mark.parametrize(
    "text",
    ["no", "yes", "12", "0", "1 litre", "2 tins", "one tin", "second hand", "the one", "option",
     "number", "1 2", "4x4", "9v", "1kg"],
)  # fmt: skip
def test_what_is_no_choice_stays_as_it_is(text):
    assert keywords.choice(text) == text


# Limits


def test_too_many_messages_get_one_polite_reply_then_silence(make):
    hook = make({**SHARED, "limit": {"messages": 3, "minutes": 10}})
    said = [hook.text(ANN, f"tins {n}") for n in range(6)]
    assert said[:3] == [f"Answer {n + 1}: tins {n}" for n in range(3)]
    assert "wait 10 minutes" in said[3] and "999" in said[3] and len(said[3]) <= 160
    assert said[4:] == ["", ""]
    assert hook.text(BEN, "tins") == "Answer 4: tins"
    assert "no more texts" in hook.text(ANN, "STOP")


def test_tries_of_one_message_do_not_count(make):
    hook = make({**SHARED, "limit": {"messages": 2, "minutes": 10}})
    for _ in range(5):
        hook.text(ANN, "tins", "m1")
    assert hook.text(ANN, "paint", "m2") == "Answer 2: paint"


# The district


def test_district_is_remembered_and_can_change(make):
    first = make()
    first.stub.says = lambda text: Answer("ok", district="oxmere" if "oxmere" in text else None)
    first.text(ANN, "i live in oxmere")
    first.text(ANN, "tins")
    assert [d for _, _, d, _ in first.stub.asked] == [None, "oxmere"]
    first.stop()
    second = make()
    second.stub.says = lambda text: Answer("ok", district="tarnside" if "moved" in text else None)
    second.text("+44 7700 900111", "we moved to tarnside")
    second.text(ANN, "paint")
    second.text(BEN, "paint")
    assert [d for _, _, d, _ in second.stub.asked] == ["oxmere", "tarnside", None]


def test_conversation_starts_afresh_after_hours(hook):
    hook.text(ANN, "tins")
    hook.text(ANN, "paint")
    texter = hook.store.texter(hook.numbers.name(ANN))
    hook.store.db.execute("UPDATE texters SET seen = ?", (texter.seen - 13 * 3600,))
    hook.text(ANN, "oil")
    assert [afresh for _, _, _, afresh in hook.stub.asked] == [True, False, True]


# Sending


@pytest.mark.parametrize("way", ["form", "json", "query", "get"])
def test_reply_by_the_send_address(make, address, way, monkeypatch):
    monkeypatch.setenv("GATEWAY_PASSWORD", "secret & more")
    fields = {"to": "{to}", "from": "{from}", "text": "{text}", "pw": {"env": "GATEWAY_PASSWORD"}}
    how = {"method": "GET"} if way == "get" else {"as": way}
    more = {"fields": fields, "headers": {"x-auth": {"env": "GATEWAY_PASSWORD"}}, **how}
    hook = make(sending(address, **more))
    hook.stub.says = lambda text: Answer("50% & more? £1 #café")
    status, body = hook.call({"from": ANN, "to": "80800", "text": "tins", "id": "m1"})
    assert (status, body) == (200, "")
    (call,) = address.sent(1)
    expected = {"to": ANN, "from": "80800", "text": "50% & more? £1 #café", "pw": "secret & more"}
    if way == "json":
        assert json.loads(call["body"]) == expected
    else:
        raw = call["body"] if way == "form" else call["path"].partition("?")[2]
        assert dict(urllib.parse.parse_qsl(raw)) == expected
    assert {k.lower(): v for k, v in call["headers"].items()}["x-auth"] == "secret & more"


def test_second_try_is_not_sent_again(make, address):
    hook = make(sending(address))
    for _ in range(4):
        assert hook.text(ANN, "tins", "m1") == ""
    address.sent(1)
    time.sleep(0.4)
    assert len(address.calls) == 1
    assert hook.store.waiting() == 0


def test_gateway_that_fails_is_tried_again_in_order(make):
    address = SendAddress(500, 503, 429)
    hook = make(sending(address))
    hook.text(ANN, "tins", "m1")
    hook.text(ANN, "paint", "m2")
    calls = address.sent(5)
    texts = [dict(urllib.parse.parse_qsl(c["body"]))["message"] for c in calls]
    assert texts == ["Answer 1: tins"] * 4 + ["Answer 2: paint"]
    refs = {dict(urllib.parse.parse_qsl(c["body"]))["ref"] for c in calls}
    assert len(refs) == 2
    address.stop()


def test_what_is_unsent_at_a_restart_is_sent_then(make):
    away = SendAddress(*[500] * 100)
    first = make(sending(away, wait=30))
    first.text(ANN, "tins", "m1")
    away.sent(1)
    first.stop()
    away.stop()
    there = SendAddress()
    second = make(sending(there))
    second.store.db.execute("UPDATE outbox SET due = 0")
    second.loop.call_soon_threadsafe(second.outbox.wake)
    (call,) = there.sent(1)
    assert dict(urllib.parse.parse_qsl(call["body"]))["to"] == ANN
    assert second.text(ANN, "tins", "m1") == ""
    time.sleep(0.3)
    assert len(there.calls) == 1
    there.stop()


def test_number_is_gone_when_a_message_is_given_up(make):
    address = SendAddress(*[500] * 100)
    hook = make(sending(address, attempts=3))
    hook.text(ANN, "tins", "m1")
    address.sent(3)
    time.sleep(0.3)
    assert (hook.store.waiting(), hook.outbox.given_up, len(address.calls)) == (0, 1, 3)
    address.stop()


def test_stop_takes_back_what_waits(make):
    address = SendAddress(*[500] * 100)
    hook = make(sending(address, wait=30))
    hook.text(ANN, "tins", "m1")
    address.sent(1)
    hook.text(ANN, "STOP", "m2")
    calls = address.sent(2)
    assert "no+more+texts" in calls[1]["body"]
    assert hook.store.waiting() == 1
    address.stop()


# Numbers are personal data

SPELT = re.compile(rb"7700[ %20+\-]*900[ %20+\-]*(111|222)")


def test_no_number_is_kept_or_logged(make, tmp_path, caplog, capfd):
    caplog.set_level("DEBUG")
    away = SendAddress(*[500] * 3)
    hook = make(sending(away, wait=0.3, method="GET"))
    for number, spelling in enumerate(["07700 900111", "+447700900111", "00447700900111"]):
        hook.text(spelling, "tins", f"m{number}")
    hook.call({"from": ANN}, None)
    hook.call("from=07700900111", None)
    hook.call(None, {"from": ANN, "text": "x"}, secret="wrong")
    hook.call(f"07700900111&{ANN}", None)
    hook.stub.says = lambda text: 1 / 0
    hook.call({"from": BEN, "text": "x"})
    hook.stub.says = None
    away.sent(2)
    checked = 0
    for path in (tmp_path / "data").iterdir():
        checked += 1
        assert not SPELT.search(path.read_bytes()), path
    assert checked >= 3
    out, err = capfd.readouterr()
    logged = "\n".join(r.getMessage() + str(r.exc_text or "") for r in caplog.records)
    assert "ZeroDivisionError" in logged + err or "failed" in logged
    assert "did not take a message" in logged
    assert not SPELT.search((logged + out + err).encode())
    away.stop()


def test_names_are_keyed_hashes_of_the_number(tmp_path):
    one, other = tmp_path / "one", tmp_path / "other"
    for folder in (one, other):
        folder.mkdir()
    first = numbers.Numbers(one)
    assert (one / "sms.key").stat().st_mode & 0o777 == 0o600
    told = json.dumps(["number", "+447700900111"]).encode()
    key = (one / "sms.key").read_bytes()
    by_openssl = subprocess.run(
        ["openssl", "dgst", "-sha256", "-mac", "HMAC", "-macopt", f"hexkey:{key.hex()}"],
        input=told, capture_output=True, check=True, text=False,
    ).stdout.decode().split()[-1]  # fmt: skip
    assert first.name(ANN) == by_openssl
    assert numbers.Numbers(one).name(ANN) == first.name(ANN)
    assert numbers.Numbers(other).name(ANN) != first.name(ANN)
    assert first.name(BEN) != first.name(ANN)


@pytest.mark.parametrize(
    "spelt",
    ["07700900111", "07700 900 111", "+447700900111", "447700900111", "0044 7700 900111",
     "+44 (0)7700 900-111", "(07700) 900111", "tel:+44-7700-900111"],
)  # fmt: skip
def test_every_spelling_of_a_number_is_one_person(spelt):
    """ITU-T E.164 form, read by PyPI phonenumberslite."""
    assert numbers.normal(spelt, "GB") == "+447700900111"


def test_what_is_no_number_is_kept_apart():
    assert numbers.normal("Parcel Firm", "GB") == "parcelfirm"
    assert numbers.normal("1 555 010 0123", "US") == "+15550100123"


def test_broken_key_says_what_is_lost_with_it(tmp_path):
    (tmp_path / "sms.key").write_bytes(b"short")
    with pytest.raises(Failed, match=r"sms\.key is no key of 32 bytes"):
        numbers.Numbers(tmp_path)


# Settings


@pytest.mark.parametrize(
    ("told", "what"),
    [
        ({"secrt": {}}, "'secrt' is no setting here"),
        ({}, "Add 'secret'"),
        ({"secret": {"header": "x", "field": "y", "secret": SECRET}}, "exactly one"),
        ({"secret": {"header": "x"}}, "exactly one"),
        ({"secret": {"header": "x", "secret": "short"}}, "at least 8"),
        ({"secret": {"header": "x", "secret_env": "NOT_SET_ANYWHERE"}}, "NOT_SET_ANYWHERE is not"),
        ({"hmac": {"header": "x", "algorithm": "md5", "secret": SECRET}}, "sha256"),
        ({**SHARED, "reply": "send"}, "Add 'send'"),
        ({**SHARED, "reply": "pigeon"}, "response, send"),
        ({**SHARED, "send": {"url": "ftp://x", "fields": {"a": "b"}}}, "sms: send: url"),
        ({**SHARED, "reply": "send", "send": {"url": "http://x", "fields": {"a": "b"}}}, "{to}"),
        ({**SHARED, "response": {"body": "hello"}}, "{text} must stand"),
        ({**SHARED, "fields": {"form": "x"}}, "sms: fields: 'form' is no setting"),
        ({**SHARED, "limit": {"messages": 0}}, "sms: limit: messages"),
        ({**SHARED, "connector": {"class": "nodots"}}, "connector: class"),
        (["x"], "of the kind 'object'"),
    ],
)
def test_wrong_setting_is_named_with_its_cure(told, what):
    with pytest.raises(Failed) as failed:
        opts.read({"sms": told})
    assert what in str(failed.value)
    assert str(failed.value).startswith("settings.yml, sms")
    assert SECRET not in str(failed.value)


def test_secret_from_the_environment(monkeypatch):
    monkeypatch.setenv("SMS_SECRET", "from-outside")
    options = opts.read({"sms": {"secret": {"header": "x", "secret_env": "SMS_SECRET"}}})
    assert options and options.secret and options.secret.value == "from-outside"
    assert "from-outside" not in repr(options)


def test_without_settings_there_are_none():
    assert opts.read({}) is None
    assert opts.read({"panel": {}}) is None


# A channel of the framework


def test_channel_of_the_framework_behind_the_desk(make, address):
    """The framework's own generic `callback` channel: its class, its field names, its sending."""
    hook = make(
        {
            "connector": {
                "class": "rasa.core.channels.callback.CallbackInput",
                "credentials": {"url": address.url},
            }
        }
    )
    path = "/webhooks/callback/webhook"
    assert hook.call({"sender": ANN, "message": "tins"}, path=path)[0] == 200
    (call,) = address.sent(1)
    assert json.loads(call["body"]) == {"recipient_id": ANN, "text": "Answer 1: tins"}
    assert hook.stub.asked[0][0] == f"sms-{hook.numbers.name(ANN)}"
    assert hook.call({"sender": ANN, "message": "STOP"}, path=path)[0] == 200
    assert "no more texts" in json.loads(address.sent(2)[1]["body"])["text"]
    hook.call({"sender": ANN, "message": "paint"}, path=path)
    time.sleep(0.3)
    assert len(address.calls) == 2
    assert hook.call({"from": ANN, "text": "x"})[0] == 404


class NoChannel:
    @classmethod
    def from_credentials(cls, _: Any) -> NoChannel:
        return cls()


@pytest.mark.parametrize(
    "path", ["nowhere.Channel", "json.JSONDecoder", f"{__name__}.NoChannel", "bot.cli.nothing"]
)
def test_class_that_is_no_channel_is_refused(make, path):
    with pytest.raises(Failed, match="connector"):
        make({"connector": {"class": path}})
    assert issubclass(InputChannel, object)
