"""What a gateway's call may look like, who may make one, and what it gets back."""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
import urllib.error
import urllib.parse
import urllib.request

import pytest
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives import hmac as crypto_hmac

from bot.sms.desk import Answer
from tests.bot.sms.webhook import ANN, SECRET, SHARED

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
    address = f"http://127.0.0.1:{hook.port}/webhooks/sms/webhook"
    for method in ("PUT", "DELETE", "PATCH"):
        with pytest.raises(urllib.error.HTTPError) as refused:
            urllib.request.urlopen(urllib.request.Request(address, b"", method=method), timeout=20)
        assert refused.value.code == 405


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
    """A signature made by OpenSSL (through PyPI cryptography), which is not what we sign with."""
    maker = crypto_hmac.HMAC(key.encode(), getattr(hashes, algorithm.upper())())
    maker.update(body)
    return maker.finalize()


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
