"""Commands as if they were typed, in processes forked from one with all that they would import."""

import atexit
import contextlib
import multiprocessing
import os
import resource
import signal
import sys
import tempfile
import time
from multiprocessing import util
from pathlib import Path

from thread_repair.cli import main
from thread_repair.report import kernel
from thread_repair.report.build import Subject, build_report
from thread_repair.report.document import DocumentInfo


def command(*arguments):
    """Be `report`."""
    return main(["report", *arguments])


def function(notebook, out):
    """Be a program that calls the function."""
    kernel.begin(several=False)
    subject = Subject(handed={"a": 2}, document=DocumentInfo(title="T"))
    build_report(subject, notebook=Path(notebook), out_dir=Path(out), formats=("html",))


class Typed:
    """A command that runs; with as much of `subprocess.Popen` as is needed.

    Its own processes are those of the command: what they are forked from is forked too.
    """

    def __init__(self, folder: Path, *arguments, work=command, limit=None, **environment):
        self._out, self._errors = (Path(folder, name) for name in ("out", "errors"))
        for file in (self._out, self._errors):
            file.touch()
        how = work, (self._out, self._errors), limit, {**os.environ, **environment}
        kernel.begin(several=True)
        self._process = kernel.forking().Process(target=_be, args=(*how, *map(str, arguments)))
        self._process.start()
        self.pid = self._process.pid

    def poll(self):
        return self._process.exitcode

    def kill(self):
        self._process.kill()

    def errors(self):
        """Return what it has said of faults and progress so far."""
        return self._errors.read_text()

    def end(self, seconds=120):
        """Wait, and return the exit code and what it has said of faults and progress."""
        self._process.join(seconds)
        assert self._process.exitcode is not None, "it does not end"
        return self._process.exitcode, self.errors()


def until(met, process, seconds=120):
    """Wait until something is so, while a process runs."""
    deadline = time.monotonic() + seconds
    while not met():
        assert time.monotonic() < deadline and process.poll() is None
        time.sleep(0.02)


def gone(pid, seconds=15):
    """Whether a process ends soon."""
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        try:
            if Path(f"/proc/{pid}/stat").read_text().split(")")[1].split()[0] == "Z":
                return True
        except OSError:
            return True
        time.sleep(0.1)
    return False


def listen():
    """Take the signals to which tests are deaf that were started in the background or by nohup.

    A shell starts what it puts in the background with SIGINT ignored, and a process inherits that.
    """
    for each in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(each, signal.SIG_DFL)


def _be(work, outputs, limit, environment, *arguments):
    """Be the command, as a process of its own is where it begins."""
    os.setsid()
    for number, file in enumerate(outputs, 1):
        os.dup2(os.open(file, os.O_WRONLY | os.O_APPEND), number)
    listen()
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT, signal.SIGHUP})
    os.environ.clear()
    os.environ.update(environment)
    tempfile.tempdir = None
    multiprocessing.current_process()._config.pop("tempdir", None)
    atexit._clear()
    atexit.register(util._exit_function)  # from Python 3.13 on it is one of those cleared
    del sys.modules["thread_repair.report.warm"]
    util.spawnv_passfds = _forked
    if limit:
        resource.setrlimit(resource.RLIMIT_NOFILE, limit)
    try:
        sys.exit(work(*arguments))
    finally:
        atexit._run_exitfuncs()


def _forked(_path, arguments, passed):
    """Fork what would be started: a line of Python in a process with these open files."""
    pid = os.fork()
    if pid:
        return pid
    try:
        for each in map(int, os.listdir("/proc/self/fd")):
            if each > 2 and each not in passed:
                with contextlib.suppress(OSError):
                    os.close(each)
        atexit._clear()
        exec(arguments[-1], {})
    finally:
        os._exit(0)
