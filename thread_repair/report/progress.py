"""Lines that tell a person at a terminal how far the build is."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TextIO


def terminal_progress(
    stream: TextIO | None = None, *, always: bool = False
) -> Callable[[str], None] | None:
    """Return a function that shows one line, each over the one before; None if nobody watches.

    Parameters
    ----------
    stream : text file, optional
        Standard error by default, so that standard output stays clean.
    always : bool
        Write plain lines even where the stream is no terminal.
    """
    target = sys.stderr if stream is None else stream
    watched = target.isatty()
    if not watched and not always:
        return None

    def show(line: str) -> None:
        if watched:
            target.write(f"\r\x1b[2K{line}" if line else "\r\x1b[2K")
        elif line:
            target.write(f"{line}\n")
        target.flush()

    return show
