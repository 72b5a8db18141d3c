"""How the language server reaches the action server."""

from __future__ import annotations

from functools import cache
from typing import Any

import aiohttp
import jsonschema
from rasa.core.actions.action import RemoteAction
from rasa.utils.endpoints import ClientResponseError, EndpointConfig

PATIENCE = 15
"""Seconds an answer may take; the web page waits longer than that."""


class Actions(EndpointConfig):  # type: ignore[misc]
    """The framework's action endpoint over one lasting connection, sent only what is new.

    The framework opens a connection for each message and sends the domain and the whole
    conversation. The actions read the latest message and the slots.
    """

    def __init__(self, url: str) -> None:
        super().__init__(url, enable_selective_domain=True)
        self._lasting: aiohttp.ClientSession | None = None

    async def request(
        self,
        method: str = "post",
        subpath: str | None = None,
        content_type: str | None = "application/json",
        compress: bool = False,
        **kwargs: Any,
    ) -> Any:
        """Send a request and return the answer's JSON."""
        if self._lasting is None or self._lasting.closed:
            self._lasting = aiohttp.ClientSession(
                timeout=aiohttp.ClientTimeout(total=PATIENCE, connect=3)
            )
        body = kwargs["json"]
        body = {**body, "tracker": {**body["tracker"], "events": []}}
        async with self._lasting.request(method, str(self.url), json=body) as response:
            if response.status >= 400:
                text = await response.text()
                raise ClientResponseError(response.status, response.reason, text)
            return await response.json()

    async def state(self) -> dict[str, Any]:
        """What the action server says of itself. Raises `OSError` or a client error if nothing."""
        url = str(self.url).rsplit("/", 1)[0] + "/state"
        timeout = aiohttp.ClientTimeout(total=2)
        async with aiohttp.ClientSession(timeout=timeout) as session, session.get(url) as response:
            state: dict[str, Any] = await response.json()
            return state

    async def close(self) -> None:
        """Close the connection."""
        if self._lasting is not None:
            await self._lasting.close()


@cache
def reply_shape() -> jsonschema.Draft202012Validator:
    """The framework's own schema of an action server's answer."""
    return jsonschema.Draft202012Validator(RemoteAction.action_response_format_spec())


def check_reply(_: RemoteAction, reply: dict[str, Any]) -> bool:
    """Check an answer's shape."""
    reply_shape().validate(reply)
    return True


# The framework checks the schema itself at each message: three quarters of a message's time.
RemoteAction._validate_action_result = check_reply
