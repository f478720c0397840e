"""The workbook opened from a command line: as a page of its own, or in JupyterLab."""

import importlib.util
import os
import subprocess
import sys
from pathlib import Path

from ..errors import InputError
from ..report.jobs import home
from . import storage

#: Holds the page's frame in the way in which Jupyter looks for it.
_FRAME = Path(__file__).parents[1] / "data" / "desk"
#: What begins a module that serves, without what takes it longest to import.
_START = "thread_repair.report.notebook_format"


def command(*, port: int | None, browser: bool) -> list[str]:
    """Return the command that serves the workbook to this machine alone.

    Raises
    ------
    InputError
        If neither of the two that can is installed.
    """
    notebook = str(home() / "notebooks" / "repair_workbook.ipynb")
    options = [] if browser else ["--no-browser"]
    options += [] if port is None else [f"--port={port}"]
    if importlib.util.find_spec("voila"):
        # A token, because whoever can see the page can save files.
        own = ["voila", "--template=thread_repair", "--token"]
    elif importlib.util.find_spec("jupyterlab"):
        own = ["jupyterlab"]
    else:
        raise InputError.of("nothing_to_show_workbook")
    return [sys.executable, "-m", _START, *own, *options, notebook]


def environment(case: Path | None) -> dict[str, str]:
    """Return what the notebook and the page's frame need to know."""
    paths = filter(None, (str(_FRAME), os.environ.get("JUPYTER_PATH")))
    given = {} if case is None else {storage.OPENED: str(case.absolute())}
    return {
        **os.environ,
        **given,
        storage.FOLDER: str(Path.cwd()),
        "JUPYTER_PATH": os.pathsep.join(paths),
    }


def serve(case: Path | None, *, port: int | None = None, browser: bool = True) -> int:
    """Serve the workbook until it is ended, and return the exit code.

    Raises
    ------
    InputError
        If it cannot be shown, or the case that is named is not there.
    """
    if case is not None and not case.exists():
        raise InputError(f"workbook: no case at {case}")
    if port is not None and not 0 < port < 2**16:  # its servers would wait at no address
        raise InputError(f"workbook: --port {port} is no port; expected 1 to 65535")
    done = subprocess.run(command(port=port, browser=browser), env=environment(case), check=False)
    return 1 if done.returncode else 0
