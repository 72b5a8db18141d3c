"""Ways in to the assistant."""
