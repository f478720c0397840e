"""A command in a process that was forked from one with all that it needs: it imports little more."""

import contextlib
import os
import resource
import sys

from thread_repair.cli import main
from thread_repair.report import kernel


def run_typed(arguments, errors, limit):
    """Be `report` with a limit of open files, if there is one; write what it says to a file."""
    kernel.begin = lambda: None  # this was forked from what it would start
    if limit:
        resource.setrlimit(resource.RLIMIT_NOFILE, limit)
    with (
        open(errors, "w") as err,
        open(os.devnull, "w") as out,
        contextlib.redirect_stderr(err),
        contextlib.redirect_stdout(out),
    ):
        sys.exit(main(["report", *map(str, arguments)]))
