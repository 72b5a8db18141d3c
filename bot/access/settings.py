"""The settings of sign-in and of the panel: the key `panel` of the settings file."""

from __future__ import annotations

import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bot.processes import Failed
from bot.settings import section

Network = ipaddress.IPv4Network | ipaddress.IPv6Network

NETWORKS = {"type": "array", "items": {"type": "string"}, "minItems": 1}
CLOCK = {"type": "string", "pattern": r"^([01]\d|2[0-3]):[0-5]\d$"}
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
SCHEMA: dict[str, Any] = {
    "type": "object",
    "additionalProperties": False,
    "properties": {
        "idle_minutes": {"type": "number", "exclusiveMinimum": 0, "maximum": 1440},
        "longest_hours": {"type": "number", "exclusiveMinimum": 0, "maximum": 24},
        "address": {"type": "string", "pattern": r"^https?://[^/\s]+$"},
        "proxies": NETWORKS,
        "trusted_header": {
            "type": "object",
            "additionalProperties": False,
            "required": ["name", "from"],
            "properties": {
                "name": {"type": "string", "pattern": r"^[A-Za-z][A-Za-z0-9-]{1,60}$"},
                "from": NETWORKS,
                "role_header": {"type": "string", "pattern": r"^[A-Za-z][A-Za-z0-9-]{1,60}$"},
                "role": {"enum": ["agent", "officer"]},
            },
        },
        "chat_hours": {
            "type": "object",
            "additionalProperties": False,
            "required": ["days", "from", "to"],
            "properties": {
                "days": {"type": "array", "items": {"enum": list(DAYS)}, "minItems": 1},
                "from": CLOCK,
                "to": CLOCK,
            },
        },
        "wait_minutes": {"type": "number", "exclusiveMinimum": 0, "maximum": 120},
        "keep_days": {"type": "number", "exclusiveMinimum": 0, "maximum": 3650},
    },
}


@dataclass(frozen=True, slots=True)
class Trusted:
    """A header in which a single-sign-on proxy names who is signed in.

    It counts only from the proxy's own addresses. Without a role header everybody has `role`.
    """

    name: str
    networks: tuple[Network, ...]
    role_header: str | None
    role: str


@dataclass(frozen=True, slots=True)
class Settings:
    """What can be set of sign-in and panel.

    `idle` and `longest` are seconds a session lasts without and with use (common practice for an
    office desk, no source). `address` is the public origin where a proxy changes the host name.
    `chat_hours` is days and two times of day between which chats are handed over; without it
    whenever an agent is there. `wait` is seconds a resident waits for an agent, `keep` seconds a
    chat that has ended is kept.
    """

    idle: float = 30 * 60
    longest: float = 10 * 3600
    address: str | None = None
    proxies: tuple[Network, ...] = ()
    trusted: Trusted | None = None
    chat_hours: tuple[frozenset[int], str, str] | None = None
    wait: float = 10 * 60
    keep: float = 30 * 86400


def networks(names: list[str], where: str) -> tuple[Network, ...]:
    """Addresses and ranges. Raises `Failed` for one that is none."""
    found = []
    for name in names:
        try:
            found.append(ipaddress.ip_network(name, strict=False))
        except ValueError:
            raise Failed(
                f"settings.yml: '{where}': '{name}' is no address. Write 10.0.0.7 or 10.0.0.0/24."
            ) from None
    return tuple(found)


def read(settings: Mapping[str, Any]) -> Settings:
    """The settings, checked. Raises `Failed` with the key and the cure."""
    part = section(settings, "panel", SCHEMA)
    trusted = None
    if "trusted_header" in part:
        told = part["trusted_header"]
        trusted = Trusted(
            told["name"],
            networks(told["from"], "panel.trusted_header.from"),
            told.get("role_header"),
            told.get("role", "agent"),
        )
    hours = None
    if "chat_hours" in part:
        told = part["chat_hours"]
        hours = frozenset(DAYS.index(d) for d in told["days"]), told["from"], told["to"]
    return Settings(
        idle=part.get("idle_minutes", 30) * 60,
        longest=part.get("longest_hours", 10) * 3600,
        address=part.get("address"),
        proxies=networks(part.get("proxies", []), "panel.proxies"),
        trusted=trusted,
        chat_hours=hours,
        wait=part.get("wait_minutes", 10) * 60,
        keep=part.get("keep_days", 30) * 86400,
    )


def among(address: str, ranges: tuple[Network, ...]) -> bool:
    """Whether an address lies in one of the ranges."""
    try:
        here = ipaddress.ip_address(address.split("%")[0])
    except ValueError:
        return False
    mapped = getattr(here, "ipv4_mapped", None)
    return any((mapped or here) in r for r in ranges)
