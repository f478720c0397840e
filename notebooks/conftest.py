"""Notebooks that pytest --nbval-lax leaves out, because a test builds a report of the same cells.

Run as committed remain those that no test builds or that a reader opens first: the justification,
the workbook and the two of the class. Their kernels are forked, as those of a batch: what only a
fresh one shows (a module that nobody imported) the builds by the command and the browser show.
"""

import os
import tempfile
from pathlib import Path

import jupyter_client
import nbval.kernel

from thread_repair.report import kernel

#: Notebook and, in the folder of the tests, the file that builds it.
BUILT = {
    "concession_sheet": "test_concession.py",
    "design_review": "reports/test_pdf_ua.py",
    "hole_preparation": "reports/test_pdf_ua.py",
    "letter": "reports/test_first_page.py",
    "pull_test_evidence": "reports/test_pdf_ua.py",
    "submission": "jobs/test_four_holes.py",
    "verification": "test_verification.py",
}
collect_ignore = [f"{name}.ipynb" for name in BUILT]


class Forked(jupyter_client.KernelManager):
    """Starts a kernel without importing again what all of them need."""

    def start_kernel(self, **settings):
        """Start it with the environment of a report's kernel."""
        self._private = tempfile.TemporaryDirectory(prefix="thread-repair-")
        private = Path(self._private.name)
        self.provisioner = kernel._forked(self, private)
        environment = {**os.environ, **kernel._environment(private)}
        return super().start_kernel(**settings, env=environment)

    def cleanup_resources(self, restart=False):
        """Remove its files too."""
        super().cleanup_resources(restart)
        self._private.cleanup()


if kernel.can_fork():
    nbval.kernel.KernelManager = Forked
