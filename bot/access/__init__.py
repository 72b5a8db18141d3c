"""Who may see the pages of the staff: accounts, sessions, sign-in."""
