"""Which sites' pages may use the chat.

The names of the headers are those of the WHATWG Fetch standard (from memory); that they do what
they should is shown by a real browser in test_widget.py.
"""

from __future__ import annotations

import re
from types import SimpleNamespace

import pytest

from bot import paths, settings
from bot.processes import Failed
from bot.webchat import options, origins
from bot.webchat.options import Options
from tests.bot.conftest import lidwise

LISTED = Options(("https://www.merrowdale.example", "http://localhost:8080"))


def asked(origin: str | None, host: str = "ask.merrowdale.example") -> SimpleNamespace:
    return SimpleNamespace(headers={"host": host} | ({"origin": origin} if origin else {}))


ALLOWED = [
    (LISTED, "https://www.merrowdale.example", "ask.example", "https://www.merrowdale.example"),
    (LISTED, "HTTPS://WWW.merrowdale.example", "ask.example", "https://www.merrowdale.example"),
    (LISTED, "https://merrowdale.example", "ask.example", None),
    (LISTED, "http://www.merrowdale.example", "ask.example", None),
    (LISTED, "https://www.merrowdale.example.evil.example", "ask.example", None),
    (LISTED, "https://ask.example", "ask.example", "https://ask.example"),
    (LISTED, "http://127.0.0.1:9000", "127.0.0.1:5005", None),
    (LISTED, "null", "ask.example", None),
    (LISTED, None, "ask.example", None),
    (Options(("*",)), "https://any.example", "ask.example", "*"),
    (Options(()), "http://localhost:9000", "localhost:5005", None),
    (Options(), "http://localhost:9000", "127.0.0.1:5005", "http://localhost:9000"),
    (Options(), "http://[::1]:9000", "[::1]:5005", "http://[::1]:9000"),
    (Options(), "https://any.example", "127.0.0.1:5005", None),
    (Options(), "http://localhost:9000", "ask.example", None),
    (Options(), "http://localhost.evil.example", "localhost:5005", None),
]


@pytest.mark.parametrize(("chosen", "origin", "host", "expected"), ALLOWED)
def test_only_the_named_sites_are_let_in(chosen, origin, host, expected):
    assert origins.allowed(asked(origin, host), chosen) == expected


def test_settings_are_read(tmp_path):
    assert options.read(settings.load(tmp_path)) == Options(None)
    text = "webchat:\n  origins: [https://www.merrowdale.example, '*']\nsms: {}\n"
    (tmp_path / "settings.yml").write_text(text, encoding="utf-8")
    read = options.read(settings.load(tmp_path))
    assert read == Options(("https://www.merrowdale.example", "*"))


BAD = [
    ("webchat: [", "line 1"),
    ("- a", "no settings"),
    ("webchat: 7", "webchat: this must be of the kind 'object'"),
    ("webchat: {origin: []}", "'origin' is no setting here. There are: origins."),
    ("webchat: {origins: https://a.example}", "webchat: origins: this must be of the kind 'array'"),
    (
        "webchat: {origins: [https://a.example/]}",
        "origins: 0: this is not as it should be",
    ),
    ("webchat: {origins: [a.example]}", "Write an origin as the browser does"),
    ("webchat: {origins: [7]}", "webchat: origins: 0: this must be of the kind 'string'"),
]


@pytest.mark.parametrize(("text", "told"), BAD)
def test_mistake_in_the_settings_is_named_with_a_cure(tmp_path, text, told):
    (tmp_path / "settings.yml").write_text(text, encoding="utf-8")
    with pytest.raises(Failed) as failed:
        options.read(settings.load(tmp_path))
    assert told in str(failed.value) and "settings.yml" in str(failed.value)


def test_command_ends_with_one_line_on_a_mistake_in_the_settings(tmp_path):
    (tmp_path / "settings.yml").write_text("webchat: {orgins: []}", encoding="utf-8")
    ended = lidwise("run", "--port", "0", "--data-dir", tmp_path)
    assert ended.returncode == 1
    assert (
        ended.stderr.strip()
        == "settings.yml, webchat: 'orgins' is no setting here. There are: origins."
    )


def lower(headers):
    return {name.lower(): value for name, value in headers.items()}


def test_preflight_and_answer_for_a_local_page(site):
    origin = "http://localhost:9999"
    for path, method in origins.OPEN.items():
        status, headers, _ = site.request(path, None, "OPTIONS", origin=origin)
        found = lower(headers)
        assert status == 204
        assert found["access-control-allow-origin"] == origin
        assert found["access-control-allow-methods"] == method
        assert "content-type" in found["access-control-allow-headers"]
        assert found["vary"] == "Origin"
        assert "access-control-allow-credentials" not in found
        refused = lower(site.request(path, None, "OPTIONS", origin="https://x.example")[1])
        assert not [name for name in refused if name.startswith("access-control-")]
        assert refused["vary"] == "Origin"


def test_only_the_files_of_the_widget_are_for_other_sites(site):
    for name in sorted(origins.WIDGET):
        found = lower(site.request(f"/web/{name}", origin="http://localhost:9")[1])
        assert found["cross-origin-resource-policy"] == "cross-origin", name
        assert found["access-control-allow-origin"] == "http://localhost:9", name
    for path in ("/", "/items", "/health", "/web/page.js", "/embed-demo", "/web/pages.css"):
        found = lower(site.request(path, origin="http://localhost:9")[1])
        assert found["cross-origin-resource-policy"] == "same-origin", path
        assert "access-control-allow-origin" not in found, path


def test_every_file_the_widget_imports_is_one_of_them():
    seen, left = set(), ["embed.js"]
    while left:
        name = left.pop()
        seen.add(name)
        text = (paths.WEB / name).read_text(encoding="utf-8")
        found = re.findall(r"""["'`/]([a-z]+\.(?:js|css|svg))["'`]""", text)
        left += [f for f in found if f not in seen and f not in left]
    assert {"widget.js", "chat.js", "cards.js", "widget.css", "mark.svg"} <= seen
    assert seen <= origins.WIDGET
