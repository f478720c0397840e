"""`python -m thread_repair` is the command `thread-repair`."""

from .cli import main

raise SystemExit(main())
