"""Keeps what a resident tells of a person out of what is stored, and forgets what is old."""
