"""The record: one row for each turn of each channel, and the rule books that gave the answers."""
