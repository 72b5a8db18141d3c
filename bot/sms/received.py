"""What a gateway posted: whether it is the gateway, and who wrote what.

Form, query and JSON are read alike. Nothing of a request is repeated in an error or a log: any part
of it may hold a phone number.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import parse_qsl

from sanic.request import Request

from bot.sms.options import Fields, Options, Secret, Signature

LARGEST = 20_000
"""Bytes of a request; a text message of the longest kind has 10,000."""


class NotReadable(ValueError):
    """A request that the gateway's settings or ours have to mend."""


@dataclass(frozen=True, slots=True)
class Received:
    """A message as it came. `number` and `to` are as the gateway writes them; `id` is empty where
    it gives none."""

    number: str
    text: str
    id: str = ""
    to: str = ""


def genuine(request: Request, told: Mapping[str, Any], options: Options) -> bool:
    """Whether the request comes from the gateway: with the secret, and the signature, as set."""
    if options.secret and not knows(request, told, options.secret):
        return False
    return not options.signature or signed(request, options.signature)


def knows(request: Request, told: Mapping[str, Any], secret: Secret) -> bool:
    """Whether the request names the secret; compared in constant time."""
    if secret.where == "header":
        given = request.headers.get(secret.name, "")
    else:
        given = inside(told, secret.name)
    return hmac.compare_digest(str(given or "").encode("utf-8", "replace"), secret.value.encode())


def signed(request: Request, signature: Signature) -> bool:
    """Whether the signature is that of the raw body, or of the raw query where there is no body."""
    body = request.body or request.query_string.encode("latin-1", "replace")
    made = hmac.new(signature.key.encode(), body, getattr(hashlib, signature.algorithm)).digest()
    expected = made.hex() if signature.encoding == "hex" else base64.b64encode(made).decode()
    given = request.headers.get(signature.header, "").strip().removeprefix(signature.prefix)
    given = given.lower() if signature.encoding == "hex" else given
    return hmac.compare_digest(given.encode("utf-8", "replace"), expected.encode())


def posted(request: Request) -> dict[str, Any]:
    """The fields of a request, the body's before the query's. Raises `NotReadable`."""
    fields: dict[str, Any] = dict(pairs(request.query_string))
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if not request.body:
        return fields
    if kind == "multipart/form-data":
        form = request.form or {}
        return fields | {name: form.get(name) for name in form}
    if kind.endswith("json") or request.body.lstrip()[:1] == b"{":
        try:
            told = json.loads(request.body.decode("utf-8"))
        except (ValueError, RecursionError):
            raise NotReadable("The body is not JSON in UTF-8.") from None
        if not isinstance(told, dict):
            raise NotReadable("The body must be a JSON object.")
        return fields | told
    return fields | dict(pairs(request.body.decode("utf-8", "replace")))


def pairs(text: str) -> list[tuple[str, str]]:
    """Names and values of a form; empty values count. Raises `NotReadable`."""
    try:
        return parse_qsl(text, keep_blank_values=True, max_num_fields=100)
    except ValueError:
        raise NotReadable("The request has too many fields.") from None


def message(told: Mapping[str, Any], fields: Fields) -> Received:
    """The message in the fields. Raises `NotReadable` naming the field that is missing."""
    number = inside(told, fields.sender)
    if not isinstance(number, str | int) or not str(number).strip():
        raise NotReadable(missing(fields.sender, "from", "the number it came from"))
    if not has(told, fields.text):
        raise NotReadable(missing(fields.text, "text", "the words"))
    ids = [inside(told, name) for name in fields.id]
    known = all(i not in (None, "") for i in ids)
    return Received(
        number=words(number).strip()[:64],
        text=words(inside(told, fields.text)),
        id=json.dumps([str(i) for i in ids]) if known else "",
        to=words(inside(told, fields.to)).strip()[:64],
    )


def missing(name: str, setting: str, what: str) -> str:
    """What to say of a field that is not there."""
    return (
        f"The field '{name}' is missing, which holds {what}. If your gateway calls it otherwise, "
        f"name it in settings.yml under sms: fields: {setting}."
    )


def words(value: Any) -> str:
    """A value as text, without halves of characters."""
    text = str(value) if isinstance(value, str | int | float) else ""
    return text.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def has(told: Mapping[str, Any], name: str) -> bool:
    """Whether there is such a field, be it empty."""
    missing_ = object()
    return inside(told, name, missing_) is not missing_


def inside(told: Any, name: str, missing_: Any = None) -> Any:
    """A field by its name; in JSON, dots and figures lead inside objects and lists."""
    if isinstance(told, Mapping) and name in told:
        return told[name]
    here = told
    for step in name.split("."):
        if isinstance(here, Mapping) and step in here:
            here = here[step]
        elif isinstance(here, list) and step.isdecimal() and int(step) < len(here):
            here = here[int(step)]
        else:
            return missing_
    return here
