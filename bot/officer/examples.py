"""Examples: conversations with their right answers, which every check plays."""

from __future__ import annotations

from typing import Any

from sanic import Blueprint
from sanic.request import Request
from sanic.response import HTTPResponse

from bot.access.guard import required
from bot.changes.places import split
from bot.examples import making
from bot.examples.conversations import form
from bot.examples.files import cases
from bot.officer.desk import aside, changes_of, field
from bot.officer.shell import back, shown
from bot.play import validator
from bot.processes import Failed
from bot.record.store import Record
from rules.yamlfile import parse

pages = Blueprint("officer-examples", url_prefix="/officer/examples")

HERE = "/officer/examples"
EMPTY = 2
"""Lines for further things that a form offers for each message."""


def number_of(data: Any) -> int:
    """How many single cases a file has."""
    found = data.get("cases") if isinstance(data, dict) else None
    return len(found) if isinstance(found, list) else 0


@pages.get("/")
@required("officer")
async def listed(request: Request) -> HTTPResponse:
    """The examples there are, and the conversations one could be made of."""
    app = request.app
    try:
        texts = await aside(changes_of(app).places.all)
    except Failed as failed:
        told = {"title": "Examples", "status": 409, "said_of": failed}
        return shown(request, "trouble.html", here="examples", **told)
    _, examples = split(texts)
    documents, wrong = form(examples)
    told = [
        {
            "file": name,
            "about": document.data["about"],
            "district": document.data["district"],
            "on": document.data["on"],
            "turns": len(document.data["turns"]),
        }
        for name, document in documents.items()
    ]
    singles = [
        {"file": name, "cases": number_of(parse(name, text)[0].data)}
        for name, text in cases(examples).items()
    ]
    latest = await aside(conversations, app)
    return shown(
        request,
        "examples.html",
        here="examples",
        title="Examples",
        told=told,
        wrong=wrong,
        singles=singles,
        latest=latest,
    )


def conversations(app: Any) -> list[dict[str, Any]]:
    """The last conversations, the newest first."""
    found: dict[str, dict[str, Any]] = {}
    for entry in Record(app.ctx.data).latest(200):
        if entry.conversation:
            known = found.setdefault(entry.conversation, {"id": entry.conversation, "at": entry.at})
            known["first"] = entry.question
            known["turns"] = known.get("turns", 0) + 1
    return list(found.values())[:12]


@pages.get("/new")
@required("officer")
async def new(request: Request) -> HTTPResponse:
    """A conversation as it was answered, to be corrected and saved."""
    conversation = (request.args.get("conversation") or "")[:255]
    try:
        entries = await aside(Record(request.app.ctx.data).of, conversation)
        transcript = making.from_record(entries)
    except Failed as failed:
        return shown(
            request,
            "trouble.html",
            here="examples",
            title="No such conversation",
            status=404,
            said_of=failed,
        )
    return page(request, transcript, conversation, "")


def page(
    request: Request,
    transcript: dict[str, Any],
    conversation: str,
    name: str,
    trouble: str = "",
    status: int = 200,
) -> HTTPResponse:
    """The form of an example."""
    shape = validator().schema["definitions"]
    return shown(
        request,
        "example.html",
        here="examples",
        title="Save a conversation as an example",
        status=status,
        transcript=transcript,
        conversation=conversation,
        name=name,
        trouble=trouble,
        kinds=shape["kind"]["enum"],
        destinations=shape["destination"]["enum"],
        empty=EMPTY,
    )


@pages.post("/new")
@required("officer")
async def save(request: Request) -> HTTPResponse:
    """Propose the example as it was corrected."""
    store, who = changes_of(request.app), request.ctx.who.name
    conversation, name = field(request, "conversation", 255), field(request, "name", 80)
    transcript = filled_in(request)
    try:
        change = await aside(making.propose, store, name, making.text_of(transcript), by=who)
    except Failed as failed:
        return page(request, transcript, conversation, name, str(failed), 400)
    said = "Proposed. If it fails, mend the rule in a change of its own and join the two."
    return back(request, f"/officer/changes/{change.id}", said)


def filled_in(request: Request) -> dict[str, Any]:
    """The transcript a form holds."""
    turns = []
    for n in range(making.MOST):
        say = field(request, f"say-{n}", 2_000).strip()
        if not say or field(request, f"leave-{n}", 8):
            continue
        made: dict[str, Any] = {"say": say, "kind": field(request, f"kind-{n}", 40)}
        asks = field(request, f"asks-{n}", 80).strip()
        if asks and made["kind"] == "question":
            made["asks"] = asks
        items = []
        for k in range(making.MOST):
            destination = field(request, f"destination-{n}-{k}", 40)
            if not destination:
                continue
            item = field(request, f"item-{n}-{k}", 80).strip()
            items.append(
                {
                    "item": item or None,
                    "destination": None if destination == "open" else destination,
                }
            )
        if items or made["kind"] in ("answer", "question", "cautious", "emergency"):
            made["items"] = items
        turns.append(made)
    return {
        "about": field(request, "about", 300).strip(),
        "shows": field(request, "shows", 300).strip(),
        "channel": field(request, "channel", 20),
        "district": field(request, "district", 40) or None,
        "on": field(request, "on", 20),
        "turns": turns,
    }
