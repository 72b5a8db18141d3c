"""Intents by what the dialogue does with them."""

from __future__ import annotations

SURE = 0.5
"""Confidence from which an intent counts where the message alone does not tell."""

CHAT = frozenset({"greet", "thank", "goodbye", "mood"})
"""Small talk."""

BESIDE = frozenset({"ask_why", "ask_prepare", "ask_what_happens", "ask_source"})
"""Asked beside a thing: why, how, what becomes of it, who says so."""
