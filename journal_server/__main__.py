"""``python -m journal_server`` is the same as the installed command."""

from journal_server.cli import run

run()
