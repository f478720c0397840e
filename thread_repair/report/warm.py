"""A process that has imported what a notebook needs: a batch forks its kernels from it.

Every report still has a kernel of its own, in the state in which a fresh one would be.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import json
import os
import pkgutil
import subprocess
import sys
import threading
from typing import TYPE_CHECKING, Any, NoReturn

from ..errors import ReportError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from jupyter_client.manager import KernelManager
    from jupyter_client.provisioning.local_provisioner import LocalProvisioner

#: What a notebook comes to need, beside the package, in most of its cells or at its start.
_NEEDED = (
    "ipykernel.kernelapp", "ipykernel.zmqshell", "matplotlib.pyplot", "pandas",
    "matplotlib.backends.backend_svg", "scipy.stats", "scipy.interpolate", "scipy.optimize",
)  # fmt: skip
_PACKAGES = ("thread_repair.report.blocks", "thread_repair.figures", "thread_repair.study")


class _Template:
    """The process, as the one that forks from it sees it; started when it is first needed."""

    def __init__(self) -> None:
        self.wanted = False
        self._process: subprocess.Popen[str] | None = None
        self._asking = threading.Lock()

    def fork(self, arguments: list[str], *, cwd: str, env: dict[str, str]) -> int:
        """Return the process id of a new kernel.

        Raises
        ------
        ReportError
            If the process cannot start or is ended.
        """
        if self._process is None or self._process.poll() is not None:
            self.close()
            self._process = subprocess.Popen(
                [sys.executable, "-c", f"from {__name__} import serve; serve()"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                text=True,
                env=env,
                # A session of its own: what a terminal sends is for us to pass on.
                start_new_session=True,
            )
        pid: int = self._ask(arguments=arguments, cwd=cwd, env=env)
        return pid

    def code(self, pid: int) -> int | None:
        """Return how a kernel ended, None while it runs."""
        try:
            code: int | None = self._ask(pid=pid)
            return code
        except ReportError:  # a kernel does not outlive the process that forked it
            return 1

    def _ask(self, **question: object) -> Any:
        process = self._process
        assert process is not None and process.stdin is not None and process.stdout is not None
        with self._asking:
            try:
                print(json.dumps(question), file=process.stdin, flush=True)
                return json.loads(process.stdout.readline())
            except (OSError, ValueError):
                raise ReportError(
                    "the process that starts kernels was ended from outside or crashed"
                ) from None

    def close(self) -> None:
        """End it, and with it every kernel that it forked."""
        if self._process is not None:
            self._process.communicate()
        self._process = None


#: Whoever builds many reports wants it.
template = _Template()


@contextlib.contextmanager
def kept() -> Iterator[None]:
    """Fork the kernels started in the block, where the system can."""
    template.wanted = sys.platform == "linux"
    try:
        yield
    finally:
        template.wanted = False
        template.close()


def serve() -> None:
    """Fork kernels for whoever writes to our standard input, until that is closed."""
    sys.path[:] = [each for each in sys.path if each]
    for name in _NEEDED:
        importlib.import_module(name)
    for name in _PACKAGES:
        for each in pkgutil.iter_modules(importlib.import_module(name).__path__, f"{name}."):
            importlib.import_module(each.name)
    gc.freeze()  # what is here stays: no copy looks through it
    for line in sys.stdin:
        asked = json.loads(line)
        if "pid" in asked:
            done, status = os.waitpid(asked["pid"], os.WNOHANG)
            answer = os.waitstatus_to_exitcode(status) if done else None
        else:
            answer = os.fork() or _become_kernel(**asked)
        print(json.dumps(answer), flush=True)


def _become_kernel(arguments: list[str], cwd: str, env: dict[str, str]) -> NoReturn:
    from ipykernel.kernelapp import IPKernelApp

    try:
        os.setsid()
        os.chdir(cwd)
        os.environ.update(env)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        os.dup2(2, 1)  # the other one is where answers go
        watched = f"--IPKernelApp.parent_handle={os.getppid()}"
        IPKernelApp.launch_instance([*arguments, watched])
    finally:
        os._exit(0)


class _Kernel:
    """A forked process, with as much of `subprocess.Popen` as a provisioner asks for."""

    stdin = stdout = stderr = None

    def __init__(self, pid: int) -> None:
        self.pid = pid
        self._code: int | None = None

    def poll(self) -> int | None:
        if self._code is None:
            self._code = template.code(self.pid)
        return self._code

    wait = poll

    def send_signal(self, number: int) -> None:
        os.kill(self.pid, number)

    def kill(self) -> None:
        """Nothing: the signal could not be sent, because it has ended."""


def provisioner(manager: KernelManager) -> LocalProvisioner:
    """Return what has the kernel of a manager forked."""
    from jupyter_client.provisioning.local_provisioner import LocalProvisioner

    class Forking(LocalProvisioner):
        async def launch_kernel(self, cmd: list[str], **settings: Any) -> Any:
            arguments, env = cmd[cmd.index("-f") :], dict(settings["env"])
            self.process: Any = _Kernel(template.fork(arguments, cwd=settings["cwd"], env=env))
            self.pid = self.pgid = self.process.pid
            return self.connection_info

    return Forking(kernel_id=manager.kernel_id, kernel_spec=manager.kernel_spec, parent=manager)
