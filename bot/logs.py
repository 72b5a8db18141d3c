"""Quiet logs: the framework's own chatter is kept out of the way of what a person should see.

All goes to the error stream, so that what a command prints can be piped on.
"""

from __future__ import annotations

import logging
import sys

from bot import lean

NOISY = ("rasa", "rasa_sdk", "sanic", "tensorflow", "matplotlib", "apscheduler", "watchfiles")
FORMAT = "%(asctime)s %(levelname)s %(name)s: %(message)s"


def plain(level: int = logging.WARNING) -> None:
    """Set what our code logs; nothing of the framework is loaded for it."""
    logging.captureWarnings(True)
    logging.getLogger("py.warnings").setLevel(logging.ERROR)
    logging.basicConfig(stream=sys.stderr, level=level, format=FORMAT)
    logging.getLogger().setLevel(level)
    for noisy in NOISY:
        logging.getLogger(noisy).setLevel(max(level, logging.WARNING))


def configure(level: int = logging.WARNING) -> None:
    """Set what is logged, by our code and by the framework's; call before the framework loads."""
    plain(level)
    lean.first()
    from rasa.utils.log_utils import configure_structlog

    configure_structlog(level)
