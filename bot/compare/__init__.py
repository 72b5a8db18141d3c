"""Comparing rule books, for the command line and the officer's page."""
