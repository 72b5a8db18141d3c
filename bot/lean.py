"""Keeps the framework small: one thread for its mathematics, and nothing loaded that is not used.

Import this before anything of the framework, and before numpy.
"""

from __future__ import annotations

import os
import sys
from typing import Any

SETTINGS = {
    "RASA_TELEMETRY_ENABLED": "false",
    "TF_CPP_MIN_LOG_LEVEL": "3",
    "TF_NUM_INTRAOP_THREADS": "1",
    "TF_NUM_INTEROP_THREADS": "1",
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "CUDA_VISIBLE_DEVICES": "",
    "SANIC_REGISTER": "false",
    "MALLOC_ARENA_MAX": "2",
    "PYTHONWARNINGS": "ignore",
}

for _name, _value in SETTINGS.items():
    os.environ.setdefault(_name, _value)

# TensorFlow tries to import this for a converter nobody here calls, and goes on without it.
_modules: dict[str, Any] = sys.modules
_modules.setdefault("jax", None)


def first() -> None:
    """Load first what looks through everything loaded when it is itself loaded.

    The model's file format does: it takes 4.5 s after the framework and 2.5 s before it.
    """
    import skops.io  # noqa: F401
