"""Measures how well the assistant understands messages that no training has seen."""
