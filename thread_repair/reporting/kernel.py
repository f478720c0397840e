"""The process that runs a notebook: the interpreter we run in, away from user settings."""

from __future__ import annotations

import contextlib
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from queue import Empty
from typing import TYPE_CHECKING, Any

import thread_repair

if TYPE_CHECKING:
    from jupyter_client.manager import AsyncKernelManager

# A kernel-socket path longer than this is refused by the operating system (limit 107 bytes).
_LONGEST_SOCKET_FOLDER = 70


@contextlib.contextmanager
def started(folder: Path) -> Iterator[AsyncKernelManager]:
    """Start a kernel whose working directory is `folder`, and end it with the block.

    It is not waited for: the caller can load what it needs while the kernel does the same.
    """
    from jupyter_core.utils import run_sync  # also where a loop runs already, as in JupyterLab

    folder = folder.absolute()  # the kernel looks for its sockets from there
    with _socket_folder(folder) as sockets:
        manager = _manager(Path(sockets))
        run_sync(manager.start_kernel)(cwd=str(folder))
        try:
            yield manager
        finally:
            manager.client().stop_channels()
            run_sync(manager.shutdown_kernel)(now=True)


def _socket_folder(folder: Path) -> tempfile.TemporaryDirectory[str]:
    """Return a folder for the kernel's sockets and settings, with a path short enough for them."""
    short = len(os.fsencode(folder)) < _LONGEST_SOCKET_FOLDER
    return tempfile.TemporaryDirectory(
        prefix="k-" if short else "thread-repair-",
        dir=folder if short else None,
        ignore_cleanup_errors=True,
    )


def _environment(sockets: Path) -> dict[str, str]:
    home = Path(thread_repair.__file__).parents[1]
    # A package that is not installed but imported from where it stands; site-packages must not
    # come before the standard library.
    ours = "" if home.name in ("site-packages", "dist-packages") else str(home)
    path = os.pathsep.join(filter(None, [ours, os.environ.get("PYTHONPATH", "")]))
    rc = sockets / "matplotlibrc"
    rc.touch()
    return {
        "PYTHONPATH": path,
        "PYTHONHASHSEED": "0",
        # These warn of future releases of a library, not of this result.
        "PYTHONWARNINGS": ",".join(
            f"ignore::{kind}Warning" for kind in ("Deprecation", "PendingDeprecation", "Future")
        ),
        "IPYTHONDIR": str(sockets),
        "MATPLOTLIBRC": str(rc),
        "MPLBACKEND": "agg",
        "PYDEVD_DISABLE_FILE_VALIDATION": "1",
        "TZ": "UTC",
    }


def _manager(sockets: Path) -> AsyncKernelManager:
    """Return what starts a kernel in this interpreter, whatever kernels are registered."""
    from jupyter_client.asynchronous.client import AsyncKernelClient
    from jupyter_client.kernelspec import KernelSpec, KernelSpecManager
    from jupyter_client.manager import AsyncKernelManager
    from traitlets import default

    argv = [
        sys.executable,
        "-m",
        "ipykernel_launcher",
        "-f",
        "{connection_file}",
        "--HistoryManager.enabled=False",
        "--quiet",
    ]
    environment = _environment(sockets)

    class OwnInterpreter(KernelSpecManager):
        def get_kernel_spec(self, kernel_name: str) -> KernelSpec:
            return KernelSpec(
                argv=argv, display_name="Python 3", language="python", env=environment
            )

    class OwnClient(AsyncKernelClient):
        async def wait_for_ready(self, timeout: float | None = None) -> None:
            """Wait until the kernel answers and what it publishes arrives.

            The library's own then listens until it has heard nothing for 0.2 s, to drop what is
            left over. papermill drops that by itself: it asks which cell a message belongs to.
            """
            end = time.monotonic() + (timeout or float("inf"))
            while time.monotonic() < end:
                self.kernel_info()
                with contextlib.suppress(Empty):
                    await self.get_shell_msg(timeout=1)
                    await self.get_iopub_msg(timeout=0.2)
                    return
                if not await self.is_alive():
                    raise RuntimeError("the notebook's process ended before it answered")
            raise RuntimeError(f"the notebook's process did not answer for {timeout} s")

    class OwnManager(AsyncKernelManager):
        _only: AsyncKernelClient | None = None

        def client(self, **settings: Any) -> AsyncKernelClient:  # type: ignore[override]
            """Return the one client there is: whoever starts a kernel closes its channels."""
            if self._only is None:
                self._only = super().client(**settings)
            return self._only

        @default("kernel_spec_manager")
        def _own_interpreter(self) -> KernelSpecManager:
            return OwnInterpreter()

        @default("client_factory")
        def _own_client(self) -> type[AsyncKernelClient]:
            return OwnClient

        @default("connection_file")
        def _connection_file(self) -> str:
            return str(sockets / "k.json")

        if os.name == "posix":
            # Sockets in our folder: no port is opened, and two builds cannot pick the same one.
            @default("transport")
            def _transport(self) -> str:
                return "ipc"

            @default("ip")
            def _ip(self) -> str:
                return str(sockets / "s")

    return OwnManager()


__all__ = ["started"]
