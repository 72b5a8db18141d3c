"""Who is asking, and whether they may: the check before every page of the staff."""

from __future__ import annotations

import asyncio
import html
import logging
import secrets
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from functools import wraps
from hmac import compare_digest
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

from sanic import response
from sanic.request import Request
from sanic.response import HTTPResponse

from bot.access.accounts import NAME, ROLES, Accounts, allows, folded
from bot.access.passwords import fits
from bot.access.sessions import Session, Sessions, digest
from bot.access.settings import Settings, among
from bot.access.throttle import Growing
from bot.processes import Failed

logger = logging.getLogger(__name__)

Handler = Callable[..., Awaitable[HTTPResponse]]

SAFE = ("GET", "HEAD")
ELSEWHERE = ("cross-site", "same-site")
AGAIN = """<!doctype html>
<html lang="en-GB"><head><meta charset="utf-8"><title>Lidwise</title>
<meta http-equiv="refresh" content="0; url={path}"></head>
<body><p><a href="{path}">Go on</a></p></body></html>
"""
"""Sent to who follows a link on another site: the browser keeps the cookie back until one of our
own pages asks."""
STALE = """<!doctype html>
<html lang="en-GB"><head><meta charset="utf-8"><title>{said} – Lidwise</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="stylesheet" href="/web/pages.css"></head>
<body><main><h1>{said}</h1>
<p>Nothing was changed, and what you typed is still there: go one page back in your browser and copy
it. Then <a href="{path}" target="_blank">sign in again (opens a new tab)</a>.</p>
</main></body></html>
"""
"""Sent to whose form came too late."""
NOT_YOURS = """<!doctype html>
<html lang="en-GB"><head><meta charset="utf-8"><title>Not for this account – Lidwise</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="stylesheet" href="/web/pages.css"></head>
<body><main><h1>Not for this account</h1>
<p>This page is for the role “{role}”. Your account has the role “{yours}”. Whoever looks after this
service can give you another one.</p>
<p><a href="/panel">Go to the panel</a></p></main></body></html>
"""
"""Sent to who is signed in with a lesser role."""
TOKEN = "x-lidwise-token"
"""Header with the session's token; a form has it in the field `token`."""


@dataclass(frozen=True, slots=True)
class Who:
    """The person who asks. `secret` is set where a session was opened for this very request."""

    name: str
    role: str
    session: Session
    secret: str | None = None


class Access:
    """What sign-in knows: accounts, sessions, settings, and who tried too often."""

    def __init__(self, data: Path, settings: Settings) -> None:
        self.settings = settings
        self.accounts = Accounts(data)
        self.sessions = Sessions(data / "access.db", settings.idle, settings.longest)
        # Free tries: common practice, no source. An office may share one address.
        self.by_name, self.by_address = Growing(free=3), Growing(free=20)
        self.key = secrets.token_bytes(32)
        self.verifying = asyncio.Semaphore(2)
        self.leaving: list[Callable[[str], None]] = []

    # ---- where a request comes from

    def behind(self, request: Request) -> bool:
        """Whether one of our proxies passed the request on."""
        return among(request.ip, self.settings.proxies)

    def address(self, request: Request) -> str:
        """The address of whoever asks, as far as our own proxies tell it."""
        if not self.behind(request):
            return str(request.ip)
        told = [a.strip() for a in request.headers.get("x-forwarded-for", "").split(",")]
        for address in reversed([a for a in told if a]):
            if not among(address, self.settings.proxies):
                return address
        return str(request.ip)

    def secure(self, request: Request) -> bool:
        """Whether the browser's own connection is encrypted."""
        if (self.settings.address or "").startswith("https:"):
            return True
        forwarded = request.headers.get("x-forwarded-proto") if self.behind(request) else None
        return (forwarded or request.scheme) == "https"

    def same_origin(self, request: Request) -> bool:
        """Whether a change was sent by one of our own pages, as the browser tells it."""
        site = request.headers.get("sec-fetch-site")
        if site is not None and site != "same-origin":
            return False
        origin = request.headers.get("origin")
        if origin in (None, "null"):
            return site == "same-origin"
        if self.settings.address:
            return origin == self.settings.address
        return urlsplit(origin).netloc == request.headers.get("host")

    # ---- who asks

    def who(self, request: Request) -> Who | None:
        """The person signed in, by the session's cookie or by the proxy's header."""
        secret = request.cookies.get(cookie_of(request.path))
        session = self.sessions.find(secret) if secret else None
        named = self.by_proxy(request)
        if named:
            name, role = named
            if session and (session.name, session.mark) == (name, "header"):
                return Who(name, role, session)
            if request.method not in SAFE:
                return None
            secret, session = self.sessions.open(name, "header")
            return Who(name, role, session, secret)
        if session is None or session.mark == "header":
            return None
        try:
            account = self.accounts.get(session.name)
        except Failed as failed:
            logger.error("%s", failed)
            return None
        if account is None or digest(account.password) != session.mark:
            self.sessions.end(session)
            return None
        return Who(account.name, account.role, session)

    def by_proxy(self, request: Request) -> tuple[str, str] | None:
        """Name and role from the trusted header, if that is on and the request is the proxy's."""
        trusted = self.settings.trusted
        if trusted is None or not among(request.ip, trusted.networks):
            return None
        names = request.headers.getall(trusted.name, [])
        if len(names) != 1 or not NAME.fullmatch(folded(names[0])):
            return None
        role = trusted.role
        if trusted.role_header:
            role = request.headers.get(trusted.role_header, "").strip().lower()
        return (folded(names[0]), role) if role in ROLES else None

    async def sign_in(self, name: str, password: str) -> tuple[str, Session] | None:
        """A session for the right password. Takes as long for a name that is not there.

        Raises `Failed` if the accounts' file is broken.
        """
        account = self.accounts.get(name)
        kept = account.password if account else None
        async with self.verifying:
            right = await asyncio.get_running_loop().run_in_executor(None, fits, password, kept)
        if not right or account is None or kept is None:
            return None
        return self.sessions.open(account.name, digest(kept))

    def sign_out(self, who: Who) -> None:
        """End a session. If it was the person's last, tell whoever has to know."""
        self.sessions.end(who.session)
        if self.sessions.open_for(who.name):
            return
        for told in self.leaving:
            told(who.name)


def area_of(path: str) -> str:
    """The first part of an address: `/panel`."""
    return "/" + path.lstrip("/").split("/", 1)[0]


def cookie_of(path: str) -> str:
    """The name of an area's cookie."""
    return f"lidwise_{area_of(path)[1:]}"


def give(request: Request, answer: HTTPResponse, name: str, value: str | None) -> None:
    """Set a cookie of an area, or take it away."""
    answer.cookies[name] = value or ""
    cookie = answer.cookies[name]
    cookie["path"] = area_of(request.path)
    cookie["httponly"] = True
    cookie["samesite"] = "Strict"
    if request.app.ctx.access.secure(request):
        cookie["secure"] = True
    if value is None:
        cookie["max-age"] = 0


def token_of(request: Request) -> str:
    """The token a change was sent with."""
    told = request.headers.get(TOKEN)
    if told is None and "form" in (request.content_type or ""):
        told = (request.form or {}).get("token")
    return str(told or "")


def by_form(request: Request) -> bool:
    """Whether a page's own form sends a change, and not a program."""
    html_wanted = "text/html" in request.headers.get("accept", "")
    return html_wanted and "form" in (request.content_type or "")


def wants_page(request: Request) -> bool:
    """Whether a person follows a link, and not a program asks."""
    return request.method in SAFE and "text/html" in request.headers.get("accept", "")


def refused(status: int, said: str, **more: Any) -> HTTPResponse:
    """A refusal a page can show."""
    return response.json({"error": said, **more}, status=status)


def told_again(status: int, said: str, path: str) -> HTTPResponse:
    """A refusal to who sent a form: nothing typed is lost."""
    return response.html(STALE.format(said=html.escape(said), path=path), status=status)


def required(role: str, passive: bool = False) -> Callable[[Handler], Handler]:
    """Let only people with a role reach a handler; it finds them in `request.ctx.who`.

    A change also needs the session's token, and has to come from one of our own pages. With
    `passive` the request does not count as use: it is the page that asks by itself.
    """

    def guarded(handler: Handler) -> Handler:
        @wraps(handler)
        async def checked(request: Request, *args: Any, **kwargs: Any) -> HTTPResponse:
            access: Access = request.app.ctx.access
            who = access.who(request)
            if who is None:
                sign_in = area_of(request.path) + "/sign-in"
                if wants_page(request) and request.headers.get("sec-fetch-site") in ELSEWHERE:
                    return response.html(AGAIN.format(path=html.escape(request.path, quote=True)))
                if wants_page(request):
                    back = quote(request.path, safe="/")
                    return response.redirect(f"{sign_in}?next={back}", status=303)
                if by_form(request):
                    return told_again(401, "You are signed out.", sign_in)
                return refused(401, "Please sign in.", sign_in=sign_in)
            if not allows(who.role, role):
                if wants_page(request):
                    return response.html(NOT_YOURS.format(role=role, yours=who.role), status=403)
                return refused(403, f"Only for the role {role}. Yours is {who.role}.")
            if request.method not in SAFE:
                if not access.same_origin(request):
                    return refused(403, "This was not sent by our own page.")
                if not compare_digest(
                    token_of(request).encode("utf-8", "replace"), who.session.token.encode()
                ):
                    if by_form(request):
                        return told_again(403, "The page is too old.", area_of(request.path))
                    return refused(403, "The page is too old. Load it again.")
            if not passive:
                access.sessions.use(who.session)
            request.ctx.who = who
            answer = await handler(request, *args, **kwargs)
            if who.secret:
                give(request, answer, cookie_of(request.path), who.secret)
            answer.headers.setdefault("referrer-policy", "same-origin")
            answer.headers.setdefault("cache-control", "no-store")
            return answer

        checked.needs = role  # type: ignore[attr-defined]
        return checked

    return guarded
