"""What every test shares."""

import contextlib
import fcntl
import functools
import json
import os
import resource
import shutil
from pathlib import Path

import hypothesis
import pytest

# Two test processes have two cores: more threads only wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Some images forbid it; the many processes that build reports would each compile the whole package.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# The same examples in every run: a failure on one machine is one on every machine.
hypothesis.settings.register_profile("seeded", derandomize=True)
hypothesis.settings.load_profile("seeded")

REPORTS = Path(__file__).parents[1] / "reports"


def pytest_configure(config):
    # By number of tests, as xdist would have it, the files that build reports came last.
    config.option.loadscopereorder = False


def pytest_collection_modifyitems(items):
    """Begin with the files that take long: what then is left for the end is short."""
    slow = {item.path for item in items if item.get_closest_marker("slow")}
    items.sort(key=lambda item: item.path not in slow)


@pytest.fixture(scope="session", autouse=True)
def forked_kernels():
    """Have the reports of this process built as those of a batch: their kernels are forked.

    What only a fresh kernel shows (an import that is missing) the builds by the command show.
    """
    from thread_repair.report import kernel

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kernel, "ALWAYS_FORKED", kernel.can_fork())
        # Whichever test starts what they are forked from, others fork the processes of a batch.
        needed = (*kernel.OF_A_BATCH, "thread_repair.cli")
        patch.setattr(kernel, "forking", functools.partial(kernel.forking, *needed))
        yield


@pytest.fixture
def fresh_kernels(monkeypatch):
    """Have kernels started as the program starts them."""
    from thread_repair.report import kernel

    monkeypatch.setattr(kernel, "ALWAYS_FORKED", False)


@pytest.fixture(scope="module")
def without_chances():
    """Leave the probabilities out of results.json, where a test does not read them.

    They take longer than all other results; only a notebook that shows them samples them anyway.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("thread_repair.report.subjects.chances", lambda study: {})
        yield


@pytest.fixture(scope="session")
def shared(tmp_path_factory):
    """Return a context manager of a folder that all test processes share, for one at a time."""
    root = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        root = root.parent

    @contextlib.contextmanager
    def held(name: str):
        folder = root / f"shared-{name}"
        folder.mkdir(exist_ok=True)
        with (folder / "lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield folder

    return held


@pytest.fixture(scope="session")
def page_without_scripts(shared):
    """The live notebook as a page, written by the command once for all test processes."""
    from thread_repair.cli import main

    with shared("page") as folder:
        file = folder / "new" / "why.html"
        if not file.exists():
            assert main(["page", str(file)]) == 0
    return file


@pytest.fixture(scope="session")
def shipped_report(shared):
    """Return a function that builds a shipped case with a notebook, once for all test processes.

    Its folder is to be read, not changed.
    """

    def chances(study):
        """Those of a case, which are the same whichever notebook leaves them out."""
        from thread_repair.report import results

        with shared("chances") as place:
            kept = place / f"{study.case.inputs_sha256}.json"
            if not kept.exists():
                kept.write_text(json.dumps(results.chances(study)))
            return json.loads(kept.read_text())

    def build(notebook: str, case: str = "demo-rig-plate") -> Path:
        from thread_repair.cli import main
        from thread_repair.report import subjects

        with shared(notebook) as place:
            folder = place / case
            if not folder.exists():
                ignored = shutil.ignore_patterns(
                    "*.pdf", "*.html", "*.docx", "*.ipynb", "*.json", ".*"
                )
                shutil.copytree(REPORTS / case, folder, ignore=ignored)
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(subjects, "chances", chances)  # whatever a test left out
                # what another process has built is found finished and left as it is
                assert main(["report", str(folder), "--notebook", notebook]) == 0
        return folder

    return build


@pytest.fixture(scope="session")
def every():
    """Return a decorator that runs a check on every row of a table and lists each that fails.

    For tables of which nobody runs one row alone: a test of its own for each costs more than it.
    """

    def of(rows, *, name=str):
        def run(check):
            found = {}
            for row in rows:
                try:
                    check(*row) if isinstance(row, tuple) else check(row)
                except (Exception, pytest.fail.Exception) as error:
                    found[name(row)] = f"{type(error).__name__}: {error}"
            wrong = "\n".join(f"{row}: {fault}" for row, fault in found.items())
            assert not found, f"{len(found)} of the table's rows fail:\n{wrong}"

        return run

    return of


@pytest.fixture
def little_memory():
    """Let a test have half a gigabyte more than it started with: what asks for more fails there."""
    before = resource.getrlimit(resource.RLIMIT_AS)
    pages = int(Path("/proc/self/statm").read_text().split()[0])
    most = pages * resource.getpagesize() + 2**29
    resource.setrlimit(resource.RLIMIT_AS, (most, before[1]))
    yield
    resource.setrlimit(resource.RLIMIT_AS, before)
