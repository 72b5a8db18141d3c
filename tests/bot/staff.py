"""A person of the staff, as their browser talks to the server."""

from __future__ import annotations

import contextlib
import http.cookiejar
import json
import re
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path
from typing import Any

from bot.access.accounts import Accounts
from bot.processes import Failed

PASSWORD = "blue kettle marsh 47"

Answer = tuple[int, dict[str, str], str]


def with_account(data: Path, name: str, role: str = "agent") -> str:
    """An account in a data folder, made unless it is there."""
    accounts = Accounts(data)
    if accounts.get(name) is None:
        accounts.add(name, role, PASSWORD)
    return name


def without_account(data: Path, name: str) -> None:
    with contextlib.suppress(Failed):
        Accounts(data).remove(name)


class Staff:
    """A browser with its cookies. It follows redirects, as browsers do."""

    def __init__(self, address: str, area: str = "/panel") -> None:
        self.address, self.area = address, area
        self.jar = http.cookiejar.CookieJar()
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(self.jar))
        self.token = ""

    def request(
        self, path: str, body: bytes | None = None, method: str | None = None, **headers: str
    ) -> Answer:
        told = {k.replace("_", "-"): v for k, v in headers.items()}
        asked = urllib.request.Request(self.address + path, body, told, method=method)
        try:
            with self.opener.open(asked, timeout=60) as found:
                return found.status, dict(found.headers), found.read().decode()
        except urllib.error.HTTPError as error:
            return error.code, dict(error.headers), error.read().decode()

    def get(self, path: str) -> Any:
        status, _, body = self.request(path, accept="application/json")
        assert status == 200, body
        return json.loads(body)

    def try_post(self, path: str, body: Any = None, **headers: str) -> tuple[int, Any]:
        told = {"origin": self.address, "x-lidwise-token": self.token, **headers}
        told = {k.replace("_", "-"): v for k, v in told.items() if v}
        status, _, text = self.request(path, json.dumps(body or {}).encode(), "POST", **told)
        with contextlib.suppress(ValueError):
            return status, json.loads(text)
        return status, text

    def post(self, path: str, body: Any = None) -> Any:
        status, told = self.try_post(path, body)
        assert status < 300, told
        return told

    def try_sign_in(
        self, name: str, password: str = PASSWORD, back: str = "", **more: str
    ) -> Answer:
        """Fill in the form; `more` are headers."""
        page = self.request(f"{self.area}/sign-in")[2]
        found = re.search(r'name="token" value="([0-9a-f]+)"', page)
        assert found, page
        fields = {"token": found[1], "name": name, "password": password, "next": back}
        headers = {"origin": self.address, **more}
        headers["content-type"] = "application/x-www-form-urlencoded"
        body = urllib.parse.urlencode(fields).encode()
        return self.request(f"{self.area}/sign-in", body, "POST", **headers)

    def sign_in(self, name: str, password: str = PASSWORD) -> Staff:
        status, _, page = self.try_sign_in(name, password)
        assert status == 200 and "sign-in" not in page, page
        self.token = self.get(f"{self.area}/session")["token"]
        return self

    def page(self, path: str, status: int = 200) -> str:
        """A page as it is shown."""
        found, _, body = self.request(path, accept="text/html")
        assert found == status, body
        return body

    def send(self, path: str, status: int = 200, **fields: str | list[str]) -> str:
        """Send a form; the page that is shown after it."""
        told = urllib.parse.urlencode({"token": self.token, **fields}, doseq=True).encode()
        kind = "application/x-www-form-urlencoded"
        found, _, body = self.request(
            path, told, "POST", origin=self.address, content_type=kind, accept="text/html"
        )
        assert found == status, body
        return body

    def cookies(self) -> dict[str, http.cookiejar.Cookie]:
        return {c.name: c for c in self.jar}
