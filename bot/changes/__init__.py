"""Proposed changes to the rule files: read first, then put in force."""
