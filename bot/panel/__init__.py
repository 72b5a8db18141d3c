"""The agents' side-panel: the page, and what it asks the server."""
