"""Hands a resident's chat to a person of the contact centre, and back to the assistant."""
