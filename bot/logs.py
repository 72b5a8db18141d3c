"""Quiet logs: the framework's own chatter is kept out of the way of what a person should see."""

from __future__ import annotations

import logging
import os
import warnings

os.environ.setdefault("RASA_TELEMETRY_ENABLED", "false")
os.environ.setdefault("TF_CPP_MIN_LOG_LEVEL", "3")
os.environ.setdefault("SANIC_REGISTER", "false")


def configure(level: int = logging.WARNING) -> None:
    """Set what is logged, by our code and by the framework's; call before the framework loads."""
    warnings.filterwarnings("ignore")
    from rasa.utils.log_utils import configure_structlog

    configure_structlog(level)
    logging.getLogger().setLevel(level)
    for noisy in ("rasa", "rasa_sdk", "sanic", "tensorflow", "matplotlib", "apscheduler", "root"):
        logging.getLogger(noisy).setLevel(max(level, logging.WARNING))
