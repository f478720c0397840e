"""The process that runs a notebook: the interpreter we run in, away from user settings."""

import atexit
import contextlib
import os
import signal
import sys
import tempfile
import threading
from collections.abc import Iterator, Sequence
from multiprocessing import current_process, forkserver, get_context, parent_process
from multiprocessing import resource_tracker as tracker
from multiprocessing.connection import Connection, wait
from pathlib import Path
from types import ModuleType
from typing import Any

#: What a process needs besides that builds one report of several.
OF_A_BATCH = ("papermill", "pandas", f"{__package__}.batch")

# The operating system refuses a longer path of a socket: 104 bytes on some.
_LONGEST_SOCKET = 100


@contextlib.contextmanager
def started(folder: Path, sources: Sequence[str]) -> Iterator[Connection]:
    """Run cells in a process whose working directory is `folder`; it ends with the block.

    What the block gets is told of each cell in turn what it put out, see `cells.run`. Settings
    stand in a private folder of the system, not in the report's: that may be on a disk without
    rights.
    """
    context = forking()
    with tempfile.TemporaryDirectory(prefix="thread-repair-", ignore_cleanup_errors=True) as name:
        ours, theirs = context.Pipe(duplex=False)
        this: Any = current_process()
        this._config.pop("daemon", None)  # worker of a cluster: what it starts ends with the block
        with starting(Path(name)):
            how = str(folder.absolute()), {**os.environ}, theirs, sources
            process = context.Process(target=_be_kernel, args=how)
            process.start()
        theirs.close()
        try:
            yield ours
        finally:
            process.kill()
            process.join()


def _be_kernel(cwd: str, env: dict[str, str], to: Connection, sources: Sequence[str]) -> None:
    from . import cells

    end_with_caller()
    os.chdir(cwd)
    os.environ.update(env)
    first = filter(None, env["PYTHONPATH"].split(os.pathsep))
    sys.path[:] = dict.fromkeys([*first, *filter(None, sys.path)])
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    cells.run(sources, to)


def _environment(private: Path) -> dict[str, str]:
    home = Path(__file__).parents[2]
    # A package that is not installed but imported from where it stands; site-packages must not
    # come before the standard library.
    ours = "" if home.name in ("site-packages", "dist-packages") else str(home)
    path = os.pathsep.join(filter(None, [ours, os.environ.get("PYTHONPATH", "")]))
    rc = private / "matplotlibrc"
    rc.touch()
    cache = _matplotlib_cache()
    # Its program that lists the fonts complains, once for each folder, where it keeps no list.
    fonts = {} if cache else {"XDG_CACHE_HOME": str(private)}
    return {
        **fonts,
        "PYTHONPATH": path,
        "PYTHONHASHSEED": "0",
        # These warn of future releases of a library, not of this result.
        "PYTHONWARNINGS": ",".join(
            f"ignore::{kind}Warning" for kind in ("Deprecation", "PendingDeprecation", "Future")
        ),
        "IPYTHONDIR": str(private),
        "MATPLOTLIBRC": str(rc),
        "MPLBACKEND": "agg",
        "MPLCONFIGDIR": str(cache or private),
        "PYDEVD_DISABLE_FILE_VALIDATION": "1",
        "TZ": "UTC",
    }


def _matplotlib_cache() -> Path | None:
    """Return the folder where matplotlib keeps its list of fonts, if it can be written to."""
    try:
        cache = Path.home() / ".matplotlib"
        if sys.platform.startswith("linux"):
            cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "matplotlib"
        cache = Path(os.environ.get("MPLCONFIGDIR") or cache)
        cache.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=cache):
            return cache
    except (OSError, RuntimeError):  # RuntimeError: nobody's home
        return None


def can_fork() -> bool:
    """Whether processes can be forked here from one that has imported all that they need."""
    # where the socket of that one stands
    place = Path(tempfile.gettempdir(), "pymp-12345678/listener-12345678")
    return sys.platform == "linux" and len(os.fsencode(place)) < _LONGEST_SOCKET


def forking(*more: str) -> Any:
    """Return the context of processes forked from one that has imported `warm` and `more`.

    That is this one, if it has; processes begin anew where none can be forked.
    """
    if f"{__package__}.warm" in sys.modules:
        return get_context("fork")
    if not can_fork():
        return get_context("spawn")
    context = get_context("forkserver")
    context.set_forkserver_preload([f"{__package__}.warm", *more])
    return context


def begin(*, several: bool) -> None:
    """Let what kernels are forked from import its modules, while the caller imports his.

    The processes of a batch are forked from it too, and it can import nothing later.
    """
    if can_fork():
        forking(*(OF_A_BATCH if several else ()))
        private = tempfile.TemporaryDirectory(prefix="thread-repair-")
        with starting(Path(private.name)):
            forkserver.ensure_running()
        atexit.register(private.cleanup)


@contextlib.contextmanager
def starting(private: Path) -> Iterator[None]:
    """Start in the block with a kernel's environment, and deaf to what a terminal sends to all.

    A process is to import nothing of the script that runs: it would run once more in it.
    """
    before, script = dict(os.environ), sys.modules["__main__"]
    mask = None
    if sys.platform != "win32":
        tracker.ensure_running()  # else it starts in the block, and ends the deafness
        mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT, signal.SIGHUP})
    os.environ.update(_environment(private))
    sys.modules["__main__"] = ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = script
        os.environ.clear()
        os.environ.update(before)
        if mask is not None:
            signal.pthread_sigmask(signal.SIG_SETMASK, mask)


def end_with_caller() -> None:
    """Let this process end with the one that started it: nobody would take what it makes.

    What it was forked from is no sign of that: it runs as long as one that it has forked.
    """

    def watch() -> None:
        wait([parent_process().sentinel])  # type: ignore[union-attr]
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
