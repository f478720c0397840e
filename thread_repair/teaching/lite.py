"""The live notebook and copies of exercises as static pages: Python runs in the reader's browser.

    python -m thread_repair.teaching.lite FOLDER [NOTEBOOK ...]

writes a JupyterLite site for any server of files. Whoever opens it fetches the interpreter and its
packages from their own network; the package itself stands in the site.
"""

import shutil
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from ..errors import InputError, MissingPackageError, ReportError, ThreadRepairError
from ..report.jobs import CLONE, notebook_path

#: Runs before the first cell: in a browser nothing is installed.
_FIRST = """import sys

if sys.platform == "emscripten":
    import piplite

    await piplite.install("thread-repair")"""

_NOT_BUILT = (".*", "build", "dist", "*.egg-info", "__pycache__")


def write(folder: Path, notebooks: list[Path]) -> Path:
    """Write the site into a new folder: the live notebook, and others that are named.

    Raises
    ------
    InputError
        If something stands in the folder, or a notebook is not there.
    MissingPackageError, ReportError
        If the site cannot be built.
    """
    for package in ("jupyterlite_core", "jupyterlite_pyodide_kernel", "jupyter_server"):
        if find_spec(package) is None:
            raise MissingPackageError(package, "lite")
    if folder.exists():
        raise InputError(f"{folder} exists; give another")
    with tempfile.TemporaryDirectory() as name:
        source = Path(name)
        (source / "files").mkdir()
        for each in (notebook_path("why_inserts"), *notebooks):
            (source / "files" / each.name).write_text(_starting(each), "utf-8")
        clone = source / "clone"  # or the wheel would hold what an earlier one has left
        shutil.copytree(CLONE, clone, ignore=shutil.ignore_patterns(*_NOT_BUILT))
        _run(source, "pip", "wheel", "--no-deps", "--wheel-dir=pypi", "./clone")
        shutil.rmtree(clone)
        _run(source, "jupyterlite_core", "build", "--output-dir=site")
        shutil.move(source / "site", folder)
    return folder


def _starting(notebook: Path) -> str:
    """Return a notebook that installs the package where it runs in a browser."""
    import nbformat

    form: Any = nbformat  # its functions carry no types
    found = form.read(notebook_path(str(notebook)), as_version=4)
    found.cells.insert(0, form.v4.new_code_cell(_FIRST, id="start"))
    return f"{form.writes(found, split_lines=False)}\n"


def _run(folder: Path, module: str, *arguments: str) -> None:
    command = [sys.executable, "-m", module, *arguments]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if done.returncode:
        raise ReportError(f"{module} could not build the site: {done.stderr.strip()[-300:]}")


if __name__ == "__main__":
    try:
        print(f"wrote {write(Path(sys.argv[1]), [Path(each) for each in sys.argv[2:]])}")
    except ThreadRepairError as error:
        sys.exit(str(error))
