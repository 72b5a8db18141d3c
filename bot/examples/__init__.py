"""Examples with their right answers, beside the rules: every check goes through them."""
