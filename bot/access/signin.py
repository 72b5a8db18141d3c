"""The sign-in of an area of staff pages: form, sign-out, and how long the session lasts."""

from __future__ import annotations

import hashlib
import hmac
import html
import logging
import re
import secrets

from sanic import Blueprint, response
from sanic.request import Request
from sanic.response import HTTPResponse

from bot.access.accounts import folded
from bot.access.guard import Access, by_form, cookie_of, give, required
from bot.access.throttle import spell
from bot.processes import Failed

logger = logging.getLogger(__name__)

PAGE = """<!doctype html>
<html lang="en-GB">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{heading} – Lidwise {area}</title>
<meta name="color-scheme" content="light dark">
<link rel="icon" href="/web/mark.svg" type="image/svg+xml">
<link rel="stylesheet" href="/web/access.css">
</head>
<body>
<header><img src="/web/mark.svg" alt="" width="40" height="40"><p>Lidwise {area}</p></header>
<main>
<h1>{heading}</h1>
{told}
<form method="post" action="{path}/sign-in">
<input type="hidden" name="token" value="{token}">
<input type="hidden" name="next" value="{back}">
<p><label for="name">Account name</label>
<input id="name" name="name" autocomplete="username" autocapitalize="none" spellcheck="false"
 required maxlength="64" value="{name}"{wrong}{first}></p>
<p><label for="password">Password</label>
<input id="password" name="password" type="password" autocomplete="current-password"
 required maxlength="200"{wrong}{then}></p>
<p><button type="submit">Sign in</button></p>
</form>
<p class="soft">Forgotten your password? Ask whoever looks after this service for another one.</p>
</main>
</body>
</html>
"""
NO_ACCOUNT = """<div class="notice"><p><strong>There is no account yet.</strong> Whoever looks after
this service makes the first one with this command:</p>
<p><code>lidwise account add NAME --role {role}</code></p></div>"""
SAID = {
    "expired": "You were signed out, because nothing was done for a while. Please sign in again.",
    "out": "You are signed out.",
}


def area(path: str, role: str, name: str) -> Blueprint:
    """The routes of an area, such as `/panel` for the role `agent`, called `name` on the page."""
    pages = Blueprint(f"access-{name}", url_prefix=path)
    before = f"lidwise_{name}_form"

    def shown(
        request: Request,
        said: str = "",
        status: int = 200,
        typed: str = "",
        back: str = "",
        wrong: bool = False,
    ) -> HTTPResponse:
        access: Access = request.app.ctx.access
        secret = request.cookies.get(before) or secrets.token_urlsafe(32)
        told = said and f'<p class="trouble" id="told" role="alert">{html.escape(said)}</p>'
        try:
            if not access.accounts.all() and access.settings.trusted is None:
                told += NO_ACCOUNT.format(role=role)
        except Failed:
            told = (
                '<p class="trouble" id="told" role="alert">Nobody can sign in at the moment: the '
            )
            told += "file of accounts has a mistake. The server’s log says which.</p>"
        page = PAGE.format(
            heading="Sign in",
            area=name,
            path=path,
            told=told,
            token=stamped(access, secret),
            back=html.escape(back, quote=True),
            name=html.escape(typed, quote=True),
            first="" if typed else " autofocus",
            then=" autofocus" if typed else "",
            wrong=' aria-invalid="true" aria-describedby="told"' if wrong else "",
        )
        answer = response.html(page, status=status)
        answer.headers["referrer-policy"] = "same-origin"
        give(request, answer, before, secret)
        return answer

    @pages.route("/sign-in", methods=["GET", "HEAD"])
    async def form(request: Request) -> HTTPResponse:
        back = safe(path, request.args.get("next") or "")
        if request.app.ctx.access.who(request):
            return response.redirect(back, status=303)
        return shown(request, SAID.get(request.args.get("said") or "", ""), back=back)

    @pages.post("/sign-in")
    async def sign_in(request: Request) -> HTTPResponse:
        access: Access = request.app.ctx.access
        fields = request.form or {}
        typed, password = str(fields.get("name") or ""), str(fields.get("password") or "")
        back = safe(path, str(fields.get("next") or ""))
        secret = request.cookies.get(before) or ""
        token = stamped(access, secret).encode()
        ours = secret and hmac.compare_digest(
            str(fields.get("token") or "").encode("utf-8", "replace"), token
        )
        if not ours or not access.same_origin(request):
            said = "The form was too old, or this browser keeps no cookies. Please sign in again."
            return shown(request, said, 403, typed[:64], back)
        if not typed.strip() or not password:
            return shown(request, "Type your account name and your password.", 400, typed, back)
        key, address = folded(typed)[:64], access.address(request)
        hold = max(access.by_name.wait(key), access.by_address.wait(address))
        if hold:
            said = f"Too many tries. Wait {spell(hold)}, then try again."
            answer = shown(request, said, 429, typed[:64], back)
            answer.headers["retry-after"] = str(hold)
            return answer
        # Counted before it is checked, so that many tries at once are no way round.
        access.by_name.fail(key)
        access.by_address.fail(address)
        try:
            opened = await access.sign_in(key, password)
        except Failed as failed:
            logger.error("%s", failed)
            access.by_name.undo(key)
            access.by_address.undo(address)
            return shown(request, status=503)
        if opened is None:
            said = "Account name or password is wrong."
            return shown(request, said, 401, typed[:64], back, wrong=True)
        access.by_name.forgive(key)
        access.by_address.undo(address)
        # An old session does not live on beside the new one.
        old = access.sessions.find(request.cookies.get(cookie_of(path)) or "")
        if old:
            access.sessions.end(old)
        answer = response.redirect(back, status=303)
        give(request, answer, cookie_of(path), opened[0])
        give(request, answer, before, None)
        return answer

    @pages.post("/sign-out")
    @required(role, passive=True)
    async def sign_out(request: Request) -> HTTPResponse:
        request.app.ctx.access.sign_out(request.ctx.who)
        after = f"{path}/sign-in?said=out"
        answer = (
            response.redirect(after, status=303)
            if by_form(request)
            else response.json({"sign_in": after})
        )
        give(request, answer, cookie_of(path), None)
        return answer

    @pages.get("/session")
    @required(role, passive=True)
    async def session(request: Request) -> HTTPResponse:
        return told_of(request)

    @pages.post("/session")
    @required(role)
    async def stay(request: Request) -> HTTPResponse:
        return told_of(request)

    return pages


def told_of(request: Request) -> HTTPResponse:
    """Who is signed in, and for how many more seconds."""
    access: Access = request.app.ctx.access
    who = request.ctx.who
    session = access.sessions.find_by_id(who.session.id) or who.session
    return response.json(
        {
            "name": who.name,
            "role": who.role,
            "token": who.session.token,
            "left": max(0, int(access.sessions.left(session))),
            "last": int(session.started + access.sessions.longest - access.sessions.now()),
        }
    )


def stamped(access: Access, secret: str) -> str:
    """The token of a sign-in form, which only goes with the cookie it was sent with."""
    return hmac.new(access.key, secret.encode("utf-8", "replace"), hashlib.sha256).hexdigest()


def safe(path: str, wanted: str) -> str:
    """Where to go after signing in: only a page of the same area."""
    plain = re.fullmatch(rf"{re.escape(path)}(/[A-Za-z0-9_-]+)*/?", wanted)
    return wanted if plain else path
