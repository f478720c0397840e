"""The process that runs a notebook: the interpreter we run in, away from user settings."""

from __future__ import annotations

import atexit
import contextlib
import os
import signal
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from multiprocessing import forkserver, get_context, parent_process, resource_tracker
from multiprocessing.connection import wait
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any, TypeVar

from ..errors import ReportError

if TYPE_CHECKING:
    from jupyter_client.asynchronous.client import AsyncKernelClient
    from jupyter_client.manager import AsyncKernelManager
    from jupyter_client.provisioning.local_provisioner import LocalProvisioner

T = TypeVar("T")

#: Whether a kernel is forked also where its process was not.
ALWAYS_FORKED = False

#: What a process needs besides that builds one report of several.
OF_A_BATCH = ("papermill", "pandas", f"{__package__}.batch")

# With 48 the kernel does not start, with 64 a report is built; this leaves half as much again.
_OPEN_FILES = 96

# The operating system refuses a longer path of a socket: 104 bytes on some.
_LONGEST_SOCKET = 100


@contextlib.contextmanager
def started(folder: Path) -> Iterator[AsyncKernelManager]:
    """Start a kernel whose working directory is `folder`, and end it with the block.

    It is not waited for: the caller can load what it needs while the kernel does the same. Its
    sockets, key and settings stand in a private folder of the system, not in the report's: that
    may be on a disk without sockets or rights.
    """
    from jupyter_core.utils import run_sync  # also where a loop runs already, as in JupyterLab

    _allow_files()
    with tempfile.TemporaryDirectory(prefix="thread-repair-", ignore_cleanup_errors=True) as name:
        manager = _manager(Path(name))
        if _is_warm() or ALWAYS_FORKED:
            manager.provisioner = _forked(manager, Path(name))
        try:  # it may be asked to end while it starts
            run_sync(manager.start_kernel)(
                cwd=str(folder.absolute()),
                env={**os.environ, **_environment(Path(name))},
                extra_arguments=["--HistoryManager.enabled=False", "--quiet"],
            )
            yield manager
        finally:
            _end(manager)


def _holds_socket(folder: Path, name: str) -> bool:
    """Whether a socket of this name can stand in a folder."""
    return os.name == "posix" and len(os.fsencode(folder / name)) < _LONGEST_SOCKET


def in_a_thread(
    manager: AsyncKernelManager, work: Callable[[], T], meanwhile: Callable[[], object]
) -> T:
    """Return what `work` returns, which talks to the kernel; end the kernel if we are interrupted.

    nbclient takes the signals of the main thread for itself, and then waits on.
    """
    from asyncio import Runner, all_tasks

    from jupyter_core.utils import ensure_event_loop

    def whole() -> T:
        try:
            return work()
        finally:
            manager.client().stop_channels()
            runner.close()

    def cancel() -> None:
        for task in all_tasks(loop):
            task.cancel()

    with ThreadPoolExecutor(1) as pool:
        runner = Runner(loop_factory=ensure_event_loop)  # the loop that Jupyter takes there
        loop = pool.submit(runner.get_loop).result()
        try:
            done = pool.submit(whole)
            meanwhile()
            return done.result()
        except BaseException:
            _end(manager)
            with contextlib.suppress(RuntimeError):  # closed: the thread has ended
                loop.call_soon_threadsafe(cancel)  # else nbclient looks once a second
            raise


def _end(manager: AsyncKernelManager) -> None:
    """End the kernel's process at once; whoever waits for it is told so."""
    from jupyter_core.utils import run_sync

    if manager.has_kernel:
        run_sync(manager.shutdown_kernel)(now=True)


def _allow_files() -> None:
    """Raise a low limit of open files where that is ours to do; else name it.

    Raises
    ------
    ReportError
    """
    if sys.platform == "win32":
        return
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    if 0 <= soft < _OPEN_FILES:
        try:
            resource.setrlimit(resource.RLIMIT_NOFILE, (_OPEN_FILES, hard))
        except (OSError, ValueError):
            raise ReportError.of("too_few_open_files", soft=soft, open_files=_OPEN_FILES) from None


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
        "PYTHONSAFEPATH": "1",  # no file of the current folder is taken for a module
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


def _manager(private: Path) -> AsyncKernelManager:
    """Return what starts a kernel in this interpreter, whatever kernels are registered."""
    from jupyter_client.kernelspec import KernelSpecManager
    from jupyter_client.manager import AsyncKernelManager

    class OneClient(AsyncKernelManager):
        _only: AsyncKernelClient | None = None
        _started = False

        async def start_kernel(self, **settings: Any) -> None:  # type: ignore[override]
            """Start the one kernel there is: nbclient starts another where ours has ended."""
            if self._started:
                raise RuntimeError("the kernel was ended")
            self._started = True
            await super().start_kernel(**settings)

        def client(self, **settings: Any) -> AsyncKernelClient:  # type: ignore[override]
            """Return the one client there is: whoever starts a kernel closes its channels."""
            if self._only is None:
                self._only = super().client(**settings)
            return self._only

    manager = OneClient(
        kernel_name="python3",
        kernel_spec_manager=KernelSpecManager(kernel_dirs=[]),
        connection_file=str(private / "k.json"),
    )
    if _holds_socket(private, "s-1"):
        # Sockets in our folder: no port is opened, and two builds cannot pick the same one.
        manager.transport, manager.ip = "ipc", str(private / "s")
    return manager


def can_fork() -> bool:
    """Whether processes can be forked here from one that has imported all that they need."""
    name = "pymp-12345678/listener-12345678"  # socket of the one that is forked from
    return sys.platform == "linux" and _holds_socket(Path(tempfile.gettempdir()), name)


def forking(*more: str) -> Any:
    """Return the context of processes forked from one that has imported `warm` and `more`."""
    context = get_context("forkserver")
    context.set_forkserver_preload([f"{__package__}.warm", *more])
    return context


def begin(*, several: bool) -> None:
    """Let what kernels are forked from import its modules, while the caller imports his.

    The processes of a batch are forked from it too, and it can import nothing later.
    """
    global ALWAYS_FORKED
    if can_fork():
        ALWAYS_FORKED = True
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
    os.environ.update(_environment(private))
    if sys.platform != "win32":
        resource_tracker.ensure_running()  # else it starts in the block, and ends the deafness
        mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT, signal.SIGHUP})
    sys.modules["__main__"] = ModuleType("__main__")
    try:
        yield
    finally:
        sys.modules["__main__"] = script
        os.environ.clear()
        os.environ.update(before)
        if mask is not None:
            signal.pthread_sigmask(signal.SIG_SETMASK, mask)


class _Forked:
    """A forked process, with as much of `subprocess.Popen` as a provisioner asks for."""

    stdin = stdout = stderr = None

    def __init__(self, process: Any) -> None:
        self.pid = process.pid
        self._process = process

    def poll(self) -> int | None:
        return self._process.exitcode

    wait = poll

    def join(self, timeout: float) -> None:
        self._process.join(timeout)

    def send_signal(self, number: int) -> None:
        if self.poll() is None:
            os.kill(self.pid, number)

    def kill(self) -> None:
        self._process.kill()


def _forked(manager: AsyncKernelManager, private: Path) -> LocalProvisioner:
    """Return what forks the kernel of a manager: from this process, if it has imported `warm`."""
    from jupyter_client.provisioning.local_provisioner import LocalProvisioner

    class Forking(LocalProvisioner):
        async def launch_kernel(self, cmd: list[str], **settings: Any) -> Any:
            how = cmd[cmd.index("-f") :], settings["cwd"], dict(settings["env"])
            context: Any = get_context("fork") if _is_warm() else forking()
            process = context.Process(target=_become_kernel, args=how)
            with starting(private):
                process.start()
            self.process: Any = _Forked(process)
            self.pid = self.pgid = process.pid
            return self.connection_info

        async def kill(self, restart: bool = False) -> None:
            await super().kill(restart)
            if self.process:  # whoever asks before it is gone sleeps for a tenth of a second
                self.process.join(1)

    return Forking(kernel_id=manager.kernel_id, kernel_spec=manager.kernel_spec, parent=manager)


def _is_warm() -> bool:
    return f"{__package__}.warm" in sys.modules


def end_with_caller() -> None:
    """Let this process end with the one that started it: nobody would take what it makes.

    What it was forked from is no sign of that: it runs as long as one that it has forked.
    """

    def watch() -> None:
        wait([parent_process().sentinel])  # type: ignore[union-attr]
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def _become_kernel(arguments: list[str], cwd: str, env: dict[str, str]) -> None:
    import asyncio

    from ipykernel.kernelapp import IPKernelApp

    from . import warm

    end_with_caller()
    os.setsid()
    os.chdir(cwd)
    os.environ.update(env)
    sys.path[:] = dict.fromkeys([*filter(None, env["PYTHONPATH"].split(os.pathsep)), *warm.PATH])
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    asyncio.set_event_loop(asyncio.new_event_loop())
    IPKernelApp.launch_instance([*arguments, f"--IPKernelApp.parent_handle={os.getppid()}"])
