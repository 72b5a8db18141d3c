"""The settings of text messages: what is wrong is named with its cure."""

from __future__ import annotations

import re

import pytest
import yaml

from bot import paths
from bot.processes import Failed
from bot.sms import options as opts
from tests.bot.sms.webhook import SECRET, SHARED


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


def test_example_in_the_readme_holds(monkeypatch):
    """What README.md tells the officer to write is accepted, and so is its second part."""
    text = (paths.PROJECT / "README.md").read_text(encoding="utf-8")
    (block,) = re.findall(r"```yaml\n(sms:.*?)```", text, re.S)
    monkeypatch.setenv("SMS_SECRET", "long-enough")
    monkeypatch.setenv("SMS_PASSWORD", "another")
    options = opts.read(yaml.safe_load(block))
    assert options and options.webhook and not options.send
    block = block.replace("\n# ", "\n  ").replace("reply: response", "reply: send")
    sends = opts.read(yaml.safe_load(block))
    assert sends and sends.send and sends.send.fields["password"] == "another"
