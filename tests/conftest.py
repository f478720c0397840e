"""What every test shares."""

import fcntl
import os
import shutil
from pathlib import Path

import pytest

# Two test processes have two cores: more threads only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Some images forbid it; the many processes that build reports would each compile the whole package.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

REPORTS = Path(__file__).parents[1] / "reports"


@pytest.fixture(scope="session")
def shipped_report(tmp_path_factory):
    """Return a function that builds a shipped case with a notebook, once for all test processes.

    Its folder is to be read, not changed.
    """
    root = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        root = root.parent

    def build(notebook: str, case: str = "demo-rig-plate") -> Path:
        from thread_repair.cli import main

        folder = root / f"shipped-{notebook}" / case
        folder.parent.mkdir(exist_ok=True)
        with (folder.parent / "lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            if not folder.exists():
                ignored = shutil.ignore_patterns(
                    "*.pdf", "*.html", "*.docx", "*.ipynb", "*.json", ".*"
                )
                shutil.copytree(REPORTS / case, folder, ignore=ignored)
            # what another process has built is found finished and left as it is
            assert main(["report", str(folder), "--notebook", notebook]) == 0
        return folder

    return build
