"""Sign-in and sessions; nothing of the panel answers without them."""

from __future__ import annotations

import json
import subprocess
import sys
import time
import types

import pytest

from bot import paths, settings
from bot.access import settings as access_settings
from bot.access.accounts import Accounts
from bot.access.guard import Access, area_of, cookie_of
from bot.access.sessions import Sessions
from bot.access.signin import safe
from bot.access.throttle import Budget, Growing, spell
from bot.processes import Failed
from tests.bot.staff import PASSWORD, Staff, with_account, without_account

ORIGIN = "http://127.0.0.1:1"


# ---- sessions and limits


def test_session_ends_after_idle_time_and_at_the_latest_after_its_longest(tmp_path):
    clock = [1000.0]
    sessions = Sessions(tmp_path / "a.db", idle=60, longest=200, now=lambda: clock[0])
    secret, _ = sessions.open("ann", "m")
    assert len(secret) >= 43  # 256 bits in base64: RFC 4648, 6 bits a character
    for moment in (1050, 1100, 1150):
        clock[0] = moment
        sessions.use(sessions.find(secret))
    clock[0] = 1199
    assert sessions.find(secret) and sessions.left(sessions.find(secret)) == 1
    clock[0] = 1201
    assert sessions.find(secret) is None
    clock[0] = 2000
    secret, _ = sessions.open("ann", "m")
    clock[0] = 2061
    assert sessions.find(secret) is None
    assert sessions.find("") is None
    assert secret.encode() not in (tmp_path / "a.db").read_bytes()
    assert (tmp_path / "a.db").stat().st_mode & 0o777 == 0o600


def test_wait_grows_with_each_failure_and_is_forgiven():
    clock = [0.0]
    limit = Growing(free=3, longest=60, now=lambda: clock[0])
    waits = []
    for _ in range(12):
        limit.fail("ann")
        waits.append(limit.wait("ann"))
    assert waits == [0, 0, 0, 1, 2, 4, 8, 16, 32, 60, 60, 60]
    assert limit.wait("bob") == 0
    clock[0] = 61
    assert limit.wait("ann") == 0
    limit.forgive("ann")
    limit.fail("ann")
    assert limit.wait("ann") == 0
    assert spell(1) == "1 second" and spell(120) == "2 minutes"


def test_budget_is_spent_and_comes_back():
    clock = [0.0]
    budget = Budget(2, 10, now=lambda: clock[0])
    assert [budget.wait("a"), budget.wait("a"), budget.wait("a"), budget.wait("b")] == [0, 0, 10, 0]
    clock[0] = 10.5
    assert budget.wait("a") == 0


@pytest.mark.parametrize(
    "wanted",
    ["//evil.example", "https://evil.example", "/panel/../x", "/panel//evil", "\\\\evil", "/other",
     "/panelx", "/panel\n/x", "/panel/x?y=//evil", "javascript:alert(1)", ""],
)  # fmt: skip
def test_no_redirect_leads_away(wanted):
    assert safe("/panel", wanted) == "/panel"


def test_redirect_within_the_area_is_kept():
    assert safe("/panel", "/panel/notes") == "/panel/notes"


# ---- settings


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("panel: {colour: red}", "'colour' is no setting here"),
        ("panel: {idle_minutes: soon}", "panel: idle_minutes"),
        ("panel: {trusted_header: {name: X-User, from: [nowhere]}}", "'nowhere' is no address"),
        ("panel: {trusted_header: {name: X-User}}", "panel: trusted_header: 'from'"),
        ("- a", "line 1"),
        ("panel: [", "line 1"),
    ],
)
def test_settings_with_a_mistake_say_which(tmp_path, text, told):
    (tmp_path / "settings.yml").write_text(text)
    with pytest.raises(Failed, match=r"settings\.yml") as failed:
        access_settings.read(settings.load(tmp_path))
    assert told in str(failed.value)


def test_settings_of_others_are_left_alone(tmp_path):
    assert settings.load(tmp_path) == {}
    (tmp_path / "settings.yml").write_text("sms: {x: 1}\npanel: {idle_minutes: 5}\n")
    assert access_settings.read(settings.load(tmp_path)).idle == 300


# ---- a request, without a server


class Headers(dict):
    def getall(self, name, default):
        return self.get(name, default)


def asked(access, path="/panel", ip="10.0.0.7", method="GET", cookies=None, **headers):
    told = {k.replace("_", "-"): v for k, v in headers.items()}
    return types.SimpleNamespace(
        path=path, ip=ip, method=method, scheme="http", headers=Headers(told), form=None,
        cookies=cookies or {}, content_type="", app=None,
    )  # fmt: skip


def with_settings(tmp_path, **part):
    return Access(tmp_path, access_settings.read({"panel": part}))


def test_header_of_a_proxy_counts_only_if_set_and_from_its_address(tmp_path):
    off = with_settings(tmp_path)
    assert off.who(asked(off, **{"X-User": ["ann"]})) is None
    on = with_settings(tmp_path, trusted_header={"name": "X-User", "from": ["10.0.0.0/24"]})
    who = on.who(asked(on, **{"X-User": ["Ann"]}))
    assert (who.name, who.role) == ("ann", "agent") and who.secret
    assert on.who(asked(on, ip="10.0.1.7", **{"X-User": ["ann"]})) is None
    assert on.who(asked(on, **{"X-User": ["ann", "bob"]})) is None
    assert on.who(asked(on, **{"X-User": ["ann bob"]})) is None
    # A change needs the session the header opened, and with it the token.
    cookies = {cookie_of("/panel"): who.secret}
    assert on.who(asked(on, method="POST", **{"X-User": ["ann"]})) is None
    assert on.who(asked(on, method="POST", cookies=cookies, **{"X-User": ["ann"]})).name == "ann"
    assert on.who(asked(on, method="POST", cookies=cookies, **{"X-User": ["bob"]})) is None
    # The session alone is nothing without the proxy.
    assert on.who(asked(on, cookies=cookies)) is None


def test_role_comes_from_its_header_where_one_is_set(tmp_path):
    part = {"name": "X-User", "from": ["::1"], "role_header": "X-Role"}
    access = with_settings(tmp_path, trusted_header=part)
    told = {"X-User": ["ann"], "X-Role": "Officer"}
    assert access.who(asked(access, ip="::1", **told)).role == "officer"
    assert access.who(asked(access, ip="::1", **{**told, "X-Role": "king"})) is None


def test_address_behind_our_proxies_is_the_last_that_is_not_ours(tmp_path):
    access = with_settings(tmp_path, proxies=["10.0.0.0/24"])
    far = "203.0.113.9, 198.51.100.4, 10.0.0.8"  # RFC 5737: addresses for documentation
    assert access.address(asked(access, x_forwarded_for=far)) == "198.51.100.4"
    assert access.address(asked(access, ip="192.0.2.1", x_forwarded_for=far)) == "192.0.2.1"
    assert access.secure(asked(access, x_forwarded_proto="https"))
    assert not access.secure(asked(access, ip="192.0.2.1", x_forwarded_proto="https"))


@pytest.mark.parametrize(
    ("headers", "ours"),
    [
        ({"sec_fetch_site": "same-origin", "origin": ORIGIN}, True),
        ({"sec_fetch_site": "same-origin"}, True),
        ({"sec_fetch_site": "same-origin", "origin": "null"}, True),
        ({"origin": ORIGIN}, True),
        ({}, False),
        ({"origin": "null"}, False),
        ({"origin": "http://evil.example"}, False),
        ({"sec_fetch_site": "same-site", "origin": ORIGIN}, False),
        ({"sec_fetch_site": "cross-site"}, False),
        ({"sec_fetch_site": "none"}, False),
    ],
)
def test_changes_come_from_our_own_pages(tmp_path, headers, ours):
    access = with_settings(tmp_path)
    assert access.same_origin(asked(access, host="127.0.0.1:1", **headers)) is ours
    named = with_settings(tmp_path, address="https://panel.example")
    assert named.same_origin(asked(named, host="inner:1", origin="https://panel.example"))
    assert not named.same_origin(asked(named, host="inner:1", origin="http://inner:1"))


def test_areas_have_cookies_of_their_own():
    assert area_of("/panel/api/find") == "/panel" and cookie_of("/officer/x") == "lidwise_officer"


# ---- the running server


@pytest.fixture
def agent(running, site):
    with_account(running.data, "access-agent")
    yield Staff(site.address)
    without_account(running.data, "access-agent")


def test_sign_in_page_says_how_to_make_the_first_account(agent, running):
    assert "account add" not in agent.request("/panel/sign-in")[2]
    there, away = running.data / "accounts.yml", running.data / "accounts.away"
    there.rename(away)
    try:
        page = agent.request("/panel", accept="text/html")[2]
        assert "lidwise account add NAME --role agent" in page
        there.write_text("accounts: [")
        assert "Nobody can sign in" in agent.request("/panel/sign-in")[2]
        assert agent.try_sign_in("access-agent")[0] == 503
    finally:
        away.rename(there)
    assert running.until("The agents' panel")


def test_sign_in_and_out(agent):
    status, _, page = agent.try_sign_in("ACCESS-AGENT ", back="/panel")
    assert status == 200 and 'id="find"' in page
    cookie = agent.cookies()["lidwise_panel"]
    rest = {k.lower(): v for k, v in cookie._rest.items()}
    assert "httponly" in rest and rest["samesite"] == "Strict" and cookie.path == "/panel"
    assert cookie.expires is None
    agent.token = agent.get("/panel/session")["token"]
    told = agent.post("/panel/sign-out")
    assert told["sign_in"].startswith("/panel/sign-in")
    agent.jar.set_cookie(cookie)
    assert agent.request("/panel/api/start")[0] == 401


def test_wrong_password_and_unknown_name_read_the_same(agent):
    one = agent.try_sign_in("access-agent", "not the pass phrase")
    other = Staff(agent.address).try_sign_in("nobody-here", "not the pass phrase")
    assert one[0] == other[0] == 401
    assert "Account name or password is wrong." in one[2] and "wrong." in other[2]
    assert "lidwise_panel" not in agent.cookies()


def test_too_many_tries_wait_and_say_how_long(running, site):
    name = with_account(running.data, "access-tried")
    try:
        browser = Staff(site.address)
        codes = [browser.try_sign_in(name, "not the pass phrase")[0] for _ in range(5)]
        assert codes == [401, 401, 401, 401, 429]
        status, headers, page = browser.try_sign_in(name)
        assert status == 429 and int(headers["retry-after"]) >= 1 and "Wait " in page
        time.sleep(int(headers["retry-after"]) + 0.1)
        assert browser.try_sign_in(name)[0] == 200
    finally:
        without_account(running.data, name)


def test_sign_in_form_of_another_site_is_refused(agent):
    assert agent.try_sign_in("access-agent", origin="http://evil.example")[0] == 403
    assert agent.try_sign_in("access-agent", **{"sec-fetch-site": "cross-site"})[0] == 403
    stranger = Staff(agent.address)
    page = stranger.request("/panel/sign-in")[2]
    agent.jar.clear()
    body = f"token={page.split('value=')[1][1:65]}&name=access-agent&password={PASSWORD}".encode()
    told = {"origin": agent.address, "content-type": "application/x-www-form-urlencoded"}
    assert agent.request("/panel/sign-in", body, "POST", **told)[0] == 403


def test_removed_account_is_out_at_once_and_a_new_password_too(agent, running):
    agent.sign_in("access-agent")
    Accounts(running.data).change("access-agent", "another odd pass phrase 9")
    assert agent.request("/panel/api/start")[0] == 401
    assert agent.try_sign_in("access-agent")[0] == 401
    agent.sign_in("access-agent", "another odd pass phrase 9")
    Accounts(running.data).remove("access-agent")
    assert agent.request("/panel/api/start")[0] == 401


def test_change_needs_token_and_our_own_page(agent):
    agent.sign_in("access-agent")
    ask = {"caller": "panel-" + "0" * 24, "message": "AA batteries"}
    assert agent.try_post("/panel/api/ask", ask)[0] == 200
    assert agent.try_post("/panel/api/ask", ask, **{"x-lidwise-token": "x"})[0] == 403
    assert agent.try_post("/panel/api/ask", ask, origin="http://evil.example")[0] == 403
    assert agent.try_post("/panel/api/ask", ask, origin="")[0] == 403


def test_waiting_pages_do_not_keep_a_session_alive(agent):
    agent.sign_in("access-agent")
    first = agent.get("/panel/session")["left"]
    time.sleep(2.1)
    agent.get("/panel/api/chats")
    assert agent.get("/panel/session")["left"] <= first - 2
    agent.post("/panel/session")
    assert agent.get("/panel/session")["left"] >= first - 1


def staff_routes(tmp_path):
    """Every route of the app under an area of the staff, walked in its router."""
    from bot.server import build

    app = build(tmp_path / "no-model", tmp_path, "http://127.0.0.1:9")
    routes = [r for r in app.router.routes if r.path.startswith(("panel", "officer"))]
    return app, routes


OPEN = {
    (f"{area}/sign-in", method)
    for area in ("panel", "officer")
    for method in ("GET", "HEAD", "POST")
}


def test_every_route_of_the_staff_refuses_who_is_not_signed_in(tmp_path, site):
    from sanic import Sanic

    Sanic.test_mode = True
    Sanic._app_registry.pop("lidwise", None)
    _, routes = staff_routes(tmp_path)
    Sanic._app_registry.pop("lidwise", None)
    assert len(routes) > 12
    tried = 0
    for route in routes:
        for method in route.methods - {"OPTIONS"}:
            if (route.path, method) in OPEN:
                continue
            area = route.path.strip("/").partition("/")[0]
            role = {"panel": "agent", "officer": "officer"}[area]
            assert getattr(route.handler, "needs", None) == role, route.path
            path = "/" + "/".join(
                {"int": "1"}.get(part.strip("<>").partition(":")[2], "x") if "<" in part else part
                for part in route.path.split("/")
            )
            body = b"{}" if method == "POST" else None
            told = {"origin": site.address}
            status, _, text = Staff(site.address).request(path, body, method, **told)
            assert status == 401, (method, path, status)
            assert method == "HEAD" or json.loads(text)["sign_in"] == f"/{area}/sign-in"
            tried += 1
    assert tried >= 14


def test_page_sends_who_is_not_signed_in_to_the_form(site):
    status, _, page = Staff(site.address).request("/panel", accept="text/html")
    assert status == 200 and "<h1>Sign in</h1>" in page and 'name="next" value="/panel"' in page


def test_link_on_another_site_reaches_who_is_signed_in(agent):
    """Browsers keep a `SameSite=Strict` cookie back on such a link (RFC 6265bis, from memory)."""
    told = {"accept": "text/html", "sec-fetch-site": "cross-site"}
    page = Staff(agent.address).request("/panel", **told)[2]
    assert 'http-equiv="refresh" content="0; url=/panel"' in page
    again = Staff(agent.address).request("/panel", accept="text/html", sec_fetch_site="same-origin")
    assert "<h1>Sign in</h1>" in again[2]


def test_run_with_wrong_settings_says_which(tmp_path):
    (tmp_path / "settings.yml").write_text("panel: {idle: 5}")
    ended = subprocess.run(
        [sys.executable, "-m", "bot", "run", "--port", "0", "-d", str(tmp_path)],
        capture_output=True,
        text=True,
        timeout=120,
        cwd=paths.PROJECT,
    )
    assert ended.returncode == 1 and "'idle' is no setting here" in ended.stderr
    assert "Traceback" not in ended.stderr + ended.stdout
