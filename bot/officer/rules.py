"""The rule files: the list, and a page for each to read it and propose another text."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any
from urllib.parse import unquote

from sanic import Blueprint
from sanic.request import Request
from sanic.response import HTTPResponse

from bot.access.guard import required
from bot.changes.change import Change
from bot.changes.places import BOOK, EXAMPLES, Texts, as_read, split
from bot.changes.showing import shown as rows
from bot.examples.conversations import form
from bot.officer.desk import aside, changes_of, field
from bot.officer.shell import back, shown
from bot.processes import Failed
from rules.loader import BookError, load_texts
from rules.yamlfile import Mistake, parse

pages = Blueprint("officer-rules", url_prefix="/officer/rules")

HERE = "/officer/rules"
LONGEST = 90_000
"""Bytes of a file that fits into a form; the server takes no larger ones."""
OLD = 365
"""Days after which a file has to be read through again."""


@pages.get("/")
@required("officer")
async def listed(request: Request) -> HTTPResponse:
    """The files with what they are about, who owns them and when they were last read through."""
    try:
        texts = await aside(changes_of(request.app).places.all)
    except Failed as failed:
        return missing(request, failed)
    files = await aside(heads, texts)
    return shown(request, "rules.html", here="rules", title="Rule files", files=files)


def heads(texts: Texts) -> list[dict[str, Any]]:
    """What the list says of each rule file."""
    found = []
    for name, text in texts.items():
        if not name.startswith(BOOK):
            continue
        data = parse(name, text)[0].data
        data = data if isinstance(data, dict) else {}
        reviewed = day(data.get("reviewed"))
        found.append(
            {
                "file": name.removeprefix(BOOK),
                "about": str(data.get("about") or "This file cannot be read."),
                "owner": str(data.get("owner") or ""),
                "reviewed": reviewed,
                "old": bool(reviewed and (date.today() - reviewed).days > OLD),
                "items": len(items) if isinstance(items := data.get("items"), dict) else 0,
            }
        )
    return found


def day(text: Any) -> date | None:
    """A day, if it is one."""
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        return None


def full(file: str) -> str:
    """The path of a change for a file as the pages name it."""
    return file if file.startswith(EXAMPLES) else BOOK + file


def stamp(text: str) -> str:
    """What a text is known by."""
    return hashlib.sha256(text.encode()).hexdigest()[:16]


@pages.get("/<file:path>")
@required("officer")
async def one(request: Request, file: str) -> HTTPResponse:
    """A file, ready to edit."""
    file = unquote(file)
    try:
        text = await aside(changes_of(request.app).places.text, full(file))
        if text is None and request.args.get("change"):
            text = ""
        if text is None:
            raise Failed(f"There is no file {file}.")
        instead = request.args.get("change") or ""
        if not instead:
            return page(request, file, text, as_read(text))
        change = await aside(changes_of(request.app).proposed, instead)
    except Failed as failed:
        return missing(request, failed)
    typed = as_read(change.files.get(full(file)) or text)
    return page(request, file, text, typed, fields=told_of(change), instead=instead)


def told_of(change: Change) -> dict[str, str]:
    """The fields of the form for a change that waits."""
    asked = change.about.get("questions") or []
    return {
        "title": change.title,
        "questions": "\n".join(str(q.get("say") or "") for q in asked),
        "district": str((asked[0].get("district") if asked else "") or ""),
    }


def missing(request: Request, failed: Failed) -> HTTPResponse:
    """There is no such file."""
    return shown(
        request, "trouble.html", here="rules", title="No such file", status=404, said_of=failed
    )


def page(
    request: Request,
    file: str,
    text: str,
    typed: str,
    *,
    status: int = 200,
    trouble: str = "",
    mistakes: Sequence[Mistake] = (),
    clash: Change | None = None,
    fields: Mapping[str, str] | None = None,
    instead: str = "",
) -> HTTPResponse:
    """The page of a file. `text` is what is there, `typed` what the box holds."""
    return shown(
        request,
        "rule_file.html",
        here="rules",
        title=file,
        status=status,
        file=file,
        typed=typed,
        lines=as_read(text).split("\n"),
        stamp=stamp(text),
        fits=len(text.encode()) < LONGEST,
        trouble=trouble,
        mistakes=mistakes,
        clash=rows(clash) if clash else [],
        instead=instead,
        fields={"title": "", "questions": "", "district": "", **(fields or {})},
    )


@pages.post("/<file:path>")
@required("officer")
async def propose(request: Request, file: str) -> HTTPResponse:
    """Propose the text in the box, unless it cannot be read or the file was changed meanwhile."""
    file = unquote(file)
    store, who, name = changes_of(request.app), request.ctx.who.name, full(file)
    typed, instead = field(request, "text"), field(request, "instead", 64)
    fields = {n: field(request, n, 2_000) for n in ("title", "questions", "district")}
    try:
        there = await aside(store.places.text, name)
        before = await aside(store.proposed, instead) if instead else None
        if there is None and (before is None or name not in before.files):
            raise Failed(f"There is no file {file}.")
    except Failed as failed:
        return missing(request, failed)
    text = there or ""

    def again(status: int, trouble: str, **more: Any) -> HTTPResponse:
        told: dict[str, Any] = {"status": status, "trouble": trouble, "fields": fields, **more}
        return page(request, file, text, typed, instead=instead, **told)

    if field(request, "made_from", 64) != stamp(text):
        said = "Somebody changed this file while you had it open. Your text is still in the box."
        clash = Change("", "", who, "", {name: typed}, {name: as_read(text)})
        return again(409, said, clash=clash)
    others = {} if before is None else {n: t for n, t in before.files.items() if n != name}
    try:
        texts = {**await aside(store.places.all), **others}
    except Failed as failed:
        return again(409, str(failed))
    mistakes = await aside(unreadable, texts, name, typed)
    if mistakes:
        return again(400, "This cannot be read as rules. Nothing was proposed.", mistakes=mistakes)
    ends = "\r\n" if "\r\n" in text else "\n"
    about = {} if before is None else {k: v for k, v in before.about.items() if k != "questions"}
    if fields["questions"].strip():
        about["questions"] = questions(fields)
    try:
        change = await aside(
            store.propose,
            fields["title"] or f"Edit {file}",
            {**others, name: typed.replace("\n", ends)},
            by=who,
            about=about,
            before={**({} if before is None else before.before), name: there},
        )
        if before is not None:
            await aside(store.drop, before.id, who, change.id)
    except Failed as failed:
        return again(409, str(failed))
    return back(request, f"/officer/changes/{change.id}", "Proposed. Read it, then apply it.")


def questions(fields: Mapping[str, str]) -> list[dict[str, str | None]]:
    """The questions to try, one to a line."""
    lines = [line.strip() for line in fields["questions"].splitlines()]
    return [{"say": line[:300], "district": fields["district"] or None} for line in lines if line][
        :20
    ]


def unreadable(texts: Mapping[str, str | None], name: str, typed: str) -> list[Mistake]:
    """Why the files cannot be read with a new text for one of them."""
    whole = {**texts, name: typed}
    book, examples = split({n: t for n, t in whole.items() if t is not None})
    if name.startswith(EXAMPLES):
        found = form({name: examples[name]})[1]
        return [
            *parse(name, typed)[1],
            *(Mistake(f.place.file, f.place.line, f.what, f.cure) for f in found),
        ]
    try:
        load_texts(book)
    except BookError as error:
        return error.mistakes
    return []
