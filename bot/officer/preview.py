"""The officer's page that asks the assistant as if on a day, in any district."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from sanic import Blueprint
from sanic.request import Request
from sanic.response import HTTPResponse

from actions.current import SHELF
from bot.access.guard import required
from bot.assistant import answer_of, text_of
from bot.channels.incoming import Incoming, clean
from bot.channels.rest import answered
from bot.officer.previews import Preview, Previews, Turn, thing
from bot.officer.shell import back, shown
from bot.processes import Failed
from bot.record.entry import Entry
from bot.record.store import Record
from rules.model import Book

pages = Blueprint("officer-preview", url_prefix="/officer/preview")

CHANNEL = "preview"
"""The channel that the record keeps with these questions, so that they are no resident's."""
PREVIEWS = Previews()
LONGEST = 2_000
"""Characters of a question."""


@dataclass(frozen=True, slots=True)
class Form:
    """What the form holds."""

    question: str = ""
    on: str = ""
    district: str = ""
    short: bool = False


@pages.get("/")
@required("officer")
async def page(request: Request) -> HTTPResponse:
    """The form, and the conversation so far."""
    preview = PREVIEWS.get(request.args.get("c") or "", request.ctx.who.name)
    last = preview.turns[-1] if preview and preview.turns else None
    on = last.on.isoformat() if last else request.args.get("on") or date.today().isoformat()
    district = (last.district if last else request.args.get("district")) or ""
    form = Form(request.args.get("q") or "", on, district, bool(last and last.short))
    return answer(request, preview, form)


def answer(
    request: Request, preview: Preview | None, form: Form, trouble: str = ""
) -> HTTPResponse:
    """The page."""
    return shown(
        request,
        "preview.html",
        here="preview",
        title="Try a day",
        status=400 if trouble else 200,
        preview=preview,
        form=form,
        trouble=trouble,
        districts=SHELF.current().districts,
        ahead=[d for d in SHELF.current().turning_days() if d > date.today()],
    )


@pages.post("/")
@required("officer")
async def ask(request: Request) -> HTTPResponse:
    """Ask, and go back to the page with the reply on it."""
    fields = request.form or {}
    told = {name: str(fields.get(name) or "").strip() for name in ("on", "district", "form")}
    question = str(fields.get("pick") or fields.get("question") or "").strip()
    form = Form(question, told["on"], told["district"], told["form"] == "short")
    who = request.ctx.who.name
    preview = PREVIEWS.get(str(fields.get("conversation") or ""), who)
    try:
        on = day_of(form.on)
        if not question:
            raise Failed("Type a question first.")
        if len(question) > LONGEST:
            raise Failed(f"A question may have {LONGEST} characters. Make it shorter.")
        if form.district and form.district not in SHELF.current().districts:
            raise Failed("There is no such district. Choose another one.")
    except Failed as failed:
        return answer(request, preview, form, str(failed))
    preview = preview or PREVIEWS.start(who)
    PREVIEWS.add(preview, await turn(request, preview.id, form, on))
    return back(request, f"/officer/preview?c={preview.id}#last")


def day_of(text: str) -> date:
    """The day to ask for. Raises `Failed` for what is none."""
    try:
        return date.fromisoformat(text) if text else date.today()
    except ValueError:
        raise Failed("That is not a date. Write it as year-month-day: 2027-02-10.") from None


async def turn(request: Request, sender: str, form: Form, on: date) -> Turn:
    """Put a question to the assistant that residents ask."""
    agent = request.app.ctx.agent
    metadata = {"channel": CHANNEL, "on": on.isoformat()}
    if form.district:
        metadata["district"] = form.district
    if form.short:
        metadata["form"] = "short"
    incoming = Incoming(sender, clean(form.question), metadata)
    messages = await answered(incoming, agent.handle_message, agent, CHANNEL)
    loop = asyncio.get_running_loop()
    entry = await loop.run_in_executor(None, recorded, record_of(request), sender)
    told = answer_of(messages)
    things = told["items"]
    led: list[Mapping[str, Any]] = entry.items if entry else []
    led = led if len(led) == len(things) else [{}] * len(things)
    book = SHELF.current()
    return Turn(
        question=form.question,
        on=on,
        district=form.district or None,
        short=form.short,
        text=text_of(messages),
        options=tuple(b["title"] for m in messages for b in m.get("buttons") or ()),
        kind=told["kind"],
        understood=tuple(understood(book, told, entry)),
        things=tuple(thing(book, t, k) for t, k in zip(things, led, strict=True)),
    )


def record_of(request: Request) -> Record:
    """The app's record, opened once."""
    if not hasattr(request.app.ctx, "previewed"):
        request.app.ctx.previewed = Record(request.app.ctx.data)
    found: Record = request.app.ctx.previewed
    return found


def recorded(record: Record, sender: str) -> Entry | None:
    """The record of a conversation's last turn."""
    kept = record.of(sender)
    return kept[-1] if kept else None


def understood(book: Book, told: Mapping[str, Any], entry: Entry | None) -> list[tuple[str, str]]:
    """What is shown of a whole turn."""
    out = [("Kind of reply", told["kind"].replace("_", " "))]
    if entry and entry.intent:
        sure = f"{entry.confidence:.0%} sure"
        out.append(("Understood as", f"{entry.intent.replace('_', ' ')} ({sure})"))
    district = told["district"]
    out.append(("District", book.districts[district].name if district else "not known"))
    if entry and entry.book:
        out.append(("Rules", entry.book))
    return out
