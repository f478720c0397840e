"""`python -m thread_repair` is the command `thread-repair`."""

from .cli import command

raise SystemExit(command())
