"""Kernels forked from a process that has imported the package are as fresh ones are."""

import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from thread_repair.report import batch, kernel
from thread_repair.report.selection import select

from .conftest import LEAVES

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("fresh_kernels")]
#: What a cell sees, and then changes.
LOOK = """
import builtins, json, os, pathlib, sys, matplotlib
seen = {
    "pandas": "pandas" in sys.modules,
    "parent": os.getppid(),
    "left": hasattr(builtins, "left") or matplotlib.rcParams["font.size"] == 99,
    "cwd": os.getcwd(),
    "home": os.environ["IPYTHONDIR"],
    "hash": os.environ["PYTHONHASHSEED"],
    "order": hash("a text"),
    "path": sys.path[0],
    "forker": int(pathlib.Path(f"/proc/{os.getppid()}/stat").read_text().split()[3]),
}
builtins.left = True
matplotlib.rcParams["font.size"] = 99
_ = pathlib.Path(title).write_text(json.dumps(seen))
"""
COLUMNS = "name,thread,screw,parent,engagement,insert_length,title"


def notebook(folder, more=""):
    cells = [
        new_code_cell("title = 'x'", metadata={"tags": ["parameters"]}),
        new_code_cell(f"{LOOK}\n{LEAVES}"),
        new_code_cell(more),
    ]
    nbformat.write(new_notebook(cells=cells), folder / "look.ipynb")
    return folder / "look.ipynb"


def built(folder, book, count):
    """Build a batch in one process at a time; return what each kernel saw."""
    rows = [f"c{n},M8,8.8,6061-T6,12 mm,1.5 D,{folder / f'{n}.json'}" for n in range(count)]
    (folder / "t.csv").write_text("\n".join([COLUMNS, *rows]) + "\n")
    jobs = select([folder / "t.csv"], notebook=book, formats=("html",), again=True)
    for outcome in batch.run_batch(jobs):
        assert not outcome.faults
    return [json.loads((folder / f"{n}.json").read_text()) for n in range(count)]


def test_each_kernel_is_fresh_has_its_own_folder_and_makes_the_same_bytes(tmp_path):
    """Of one case alone the kernel is a fresh one, in a batch it is forked.

    In test_bad_day every format is the same by both.
    """
    book, files = notebook(tmp_path), []

    def made(count):
        found = built(tmp_path, book, count)
        files.append({f.name: f.read_bytes() for f in (tmp_path / "t" / "c0").glob("look.*")})
        return found

    (plain,) = made(1)
    first, second = made(2)
    assert files[0] == files[1] and len(files[0]) == 2
    assert not plain["pandas"] and first["pandas"] and second["pandas"]
    assert first["forker"] == second["forker"] != os.getpid()
    assert first["home"] != second["home"] and first["parent"] != second["parent"]
    for n, each in enumerate((first, second)):
        assert not each["left"]
        assert Path(each["cwd"]).parent == tmp_path / "t" / f"c{n}"
        assert {k: each[k] for k in ("hash", "order", "path")} == {
            k: plain[k] for k in ("hash", "order", "path")
        }


def test_what_forks_is_started_again_if_it_was_killed(tmp_path):
    kill = f"if title.endswith('0.json'): os.kill(seen['forker'], {int(signal.SIGKILL)})"
    first, second = built(tmp_path, notebook(tmp_path, kill), 2)
    assert first["forker"] != second["forker"] and second["pandas"]


def test_what_forks_is_deaf_to_ctrl_c_while_it_imports():
    """It printed a traceback for whoever stopped a report in its first seconds."""
    code = (
        "from multiprocessing import forkserver; from thread_repair.report import kernel\n"
        "kernel.begin(several=False)\n"
        "print(open(f'/proc/{forkserver._forkserver._forkserver_pid}/status').read())"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    blocked = int(re.search(r"SigBlk:\s*(\w+)", done.stdout)[1], 16)
    assert all(blocked >> (each - 1) & 1 for each in (signal.SIGINT, signal.SIGHUP))


def test_what_forks_imports_nothing_of_the_current_folder(tmp_path):
    """A file there with the name of a module was run, and ended the report in a traceback."""
    here, script, ran = tmp_path / "here", tmp_path / "script.py", tmp_path / "ran"
    here.mkdir()
    for name in ("socket", "threading", "thread_repair"):
        (here / f"{name}.py").write_text(f"open({str(ran)!r}, 'a').write({name!r})\n")
    script.write_text(
        "from thread_repair.report import kernel\n"
        "kernel.begin(several=False)\n"
        "process = kernel.forking().Process(target=print, args=('works',))\n"
        "from pathlib import Path\n"
        "with kernel.starting(Path(__file__).parent):\n    process.start()\n"
        "process.join()"
    )
    own = {**os.environ, "PYTHONPATH": str(Path(kernel.__file__).parents[2])}
    command = [sys.executable, str(script)]
    done = subprocess.run(command, cwd=here, env=own, capture_output=True, text=True)
    assert (done.stdout, done.stderr) == ("works\n", "") and not ran.exists()


def test_where_no_list_of_fonts_can_be_kept_one_is_kept_for_the_report(tmp_path, monkeypatch):
    """The system's program that lists them wrote a line for each folder on standard error."""
    for name in ("MPLCONFIGDIR", "XDG_CACHE_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", "/dev/null")
    assert kernel._environment(tmp_path)["XDG_CACHE_HOME"] == str(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    assert "XDG_CACHE_HOME" not in kernel._environment(tmp_path)


def test_a_script_that_builds_reports_is_run_once(tmp_path, monkeypatch):
    """Whatever it holds: without `if __name__ == "__main__":` it would build them again."""
    script = ModuleType("__main__")
    script.__file__ = str(tmp_path / "script.py")
    Path(script.__file__).write_text(f"open({str(tmp_path / 'again')!r}, 'w')\n")
    monkeypatch.setitem(sys.modules, "__main__", script)
    monkeypatch.setattr(kernel, "ALWAYS_FORKED", True)
    # One whose kernel is forked, and two built in processes of their own.
    for count in (1, 2):
        built(tmp_path, notebook(tmp_path), count)
    assert sys.modules["__main__"] is script and not (tmp_path / "again").exists()
