"""Quiet logs: the framework's own chatter is kept out of the way of what a person should see.

All goes to the error stream, so that what a command prints can be piped on.
"""

from __future__ import annotations

import logging
import sys
import warnings

from bot import lean  # noqa: F401  (sets what the framework reads when it loads)

NOISY = ("rasa", "rasa_sdk", "sanic", "tensorflow", "matplotlib", "apscheduler", "watchfiles")
FORMAT = "%(asctime)s %(levelname)s %(name)s: %(message)s"


def plain(level: int = logging.WARNING) -> None:
    """Set what our code logs; nothing of the framework is loaded for it."""
    warnings.filterwarnings("ignore")
    logging.basicConfig(stream=sys.stderr, level=level, format=FORMAT)
    logging.getLogger().setLevel(level)
    for noisy in NOISY:
        logging.getLogger(noisy).setLevel(max(level, logging.WARNING))


def configure(level: int = logging.WARNING) -> None:
    """Set what is logged, by our code and by the framework's; call before the framework loads."""
    plain(level)
    from rasa.utils.log_utils import configure_structlog

    configure_structlog(level)
