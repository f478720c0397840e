"""Fail, and then kill, every system call of a publication in turn, with an edited file present.

By hand: python -m tests.reports.sweep_publish (Linux, strace; two minutes). It prints one line for
each kind of call and exits with 1 if anything was lost.
"""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from thread_repair.errors import ReportError
from thread_repair.report import publish

from .test_publish import EDIT, NEW, OLD, OTHER, build, fresh, state

CALLS = (
    *("openat", "read", "write", "close", "fsync", "mkdir", "mkdirat", "rmdir", "rename"),
    *("renameat", "link", "linkat", "unlink", "unlinkat", "newfstatat", "fstat", "stat", "lstat"),
    *("getdents64", "flock", "lseek", "ioctl"),
)


def child(folder, go):
    """Publish once `go` is there, so that only its calls are counted; exit with 0 if told so."""
    while not os.path.exists(go):
        time.sleep(0.002)
    try:
        build(folder, NEW)
    except ReportError:
        os._exit(3)
    except BaseException:
        os._exit(4)
    os._exit(0)


def once(folder, call, at, how):
    """Run one publication with one call of it failing; return whether it was hit, and the code."""
    go, log = folder.parent / "go", folder.parent / "log"
    go.unlink(missing_ok=True)
    pid = os.fork()
    if pid == 0:
        child(folder, go)
    strace = subprocess.Popen(
        ["strace", "-p", str(pid), "-o", log, "-e", f"inject={call}:{how}:when={at}"],
        stderr=subprocess.PIPE,
    )
    strace.stderr.readline()  # "attached"
    go.touch()
    _, status = os.waitpid(pid, 0)
    strace.wait()
    text = log.read_text(errors="replace")
    hit = "INJECTED" in text or (
        "SIGKILL" in how and os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    )
    return hit, os.waitstatus_to_exitcode(status)


def main():
    if not shutil.which("strace"):
        raise SystemExit("strace is not installed")
    root = Path(tempfile.mkdtemp())
    model, folder = fresh(root / "model"), root / "case"
    build(model, OLD, OTHER)
    build(model, OLD)
    (model / "report.pdf").write_text(EDIT)
    total = lost = 0
    for how in ("error=EIO", "error=ENOSPC", "signal=SIGKILL"):
        for call in CALLS:
            done = 0
            for at in range(1, 400):
                shutil.rmtree(folder, ignore_errors=True)
                shutil.copytree(model, folder)
                hit, code = once(folder, call, at, how)
                if not hit:
                    break
                done += 1
                there = {p.name: p.read_text() for p in folder.iterdir() if p.is_file()}
                with publish.workspace(folder):
                    pass
                after = state(folder)
                whole = after in (OLD, NEW) and EDIT in there.values()
                told = code in (0, 3, -9) and (code != 0 or after == NEW)
                told = told and (code != 3 or after == OLD)
                if not (whole and told):
                    lost += 1
                    print(f"  {call} {at} {how}: code {code}, {after}")
            total += done
            print(f"{how:16} {call:10} {done:4}", flush=True)
    print(f"{total} calls failed or killed, {lost} with something lost or told wrongly")
    shutil.rmtree(root)
    return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main())
