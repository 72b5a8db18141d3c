"""Explains a stored conversation: what was asked, what was understood, which rule answered."""
