"""How many messages a second a running assistant answers: `python -m bot.bench http://127.0.0.1:5005`.

Eight connections at once, each a conversation of its own, ask in turn about things, answer a
question that comes back, and ask about the scheme.
"""

from __future__ import annotations

import http.client
import json
import sys
import threading
import time
from urllib.parse import urlsplit

MESSAGES = 300
CONNECTIONS = 8
ASKED = (
    "where do AAA batteries go",
    "pizza box",
    "it was a takeaway",
    "empty jam jars, a stack of letters and last week's kitchen roll",
    "what goes in the orange lid bin",
    "can I recycle a rusty bird cage",
    "thanks",
    "hot ash from the stove",
)


def talk(host: str, port: int, name: str, share: int, took: list[float], wrong: list[str]) -> None:
    """One conversation of `share` messages."""
    connection = http.client.HTTPConnection(host, port, timeout=60)
    for n in range(share):
        body = {
            "sender": name,
            "message": ASKED[n % len(ASKED)],
            "metadata": {"district": "oxmere", "on": "2027-02-10"},
        }
        start = time.perf_counter()
        connection.request("POST", "/webhooks/rest/webhook", json.dumps(body))
        messages = json.loads(connection.getresponse().read())
        took.append(time.perf_counter() - start)
        answer = next(m["custom"] for m in messages if "custom" in m)
        if answer["kind"] == "unclear":
            wrong.append(f"{body['message']}: {messages[0].get('text')}")


def main() -> None:
    """Print messages a second, and the time an answer takes."""
    address = urlsplit(sys.argv[1] if len(sys.argv) > 1 else "http://127.0.0.1:5005")
    took: list[float] = []
    wrong: list[str] = []
    try:
        http.client.HTTPConnection(str(address.hostname), int(address.port or 80)).connect()
    except OSError:
        raise SystemExit("Nothing answers there. Start it: lidwise run") from None
    run = f"bench-{time.time():.0f}"
    threads = [
        threading.Thread(
            target=talk,
            args=(
                str(address.hostname),
                int(address.port or 80),
                f"{run}-{n}",
                MESSAGES // CONNECTIONS,
                took,
                wrong,
            ),
        )
        for n in range(CONNECTIONS)
    ]
    start = time.perf_counter()
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    seconds = time.perf_counter() - start
    if wrong or len(took) < MESSAGES // CONNECTIONS * CONNECTIONS:
        raise SystemExit(f"{len(took)} answered, not well: {wrong[:3]}")
    took.sort()
    print(
        f"{len(took)} messages, {CONNECTIONS} connections: {len(took) / seconds:.0f} a second; "
        f"half within {took[len(took) // 2] * 1000:.0f} ms, "
        f"95 % within {took[int(len(took) * 0.95)] * 1000:.0f} ms"
    )


if __name__ == "__main__":
    main()
