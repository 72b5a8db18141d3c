"""Simulated residents who really talk to the assistant, so that an officer has something to try."""
