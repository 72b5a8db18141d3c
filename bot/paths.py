"""Where things are."""

from __future__ import annotations

from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1]
DATA = PROJECT / ".data"
CONFIG = PROJECT / "bot" / "config.yml"
DOMAIN = PROJECT / "bot" / "dialogue" / "domain.yml"
RULES = PROJECT / "bot" / "dialogue" / "rules.yml"
TRAINING = PROJECT / "nlu_data"
LANGUAGE = PROJECT / "bot" / "language"
WEB = PROJECT / "bot" / "web"
TRANSCRIPTS = PROJECT / "transcripts_demo"
