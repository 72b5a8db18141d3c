"""`python -m bot` is `lidwise`."""

from bot.cli import app

app(prog_name="lidwise")
