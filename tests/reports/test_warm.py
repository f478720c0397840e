"""Kernels forked from a process that has imported the package are as fresh ones are."""

import json
import os
import signal
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from thread_repair.report import run, warm

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("fresh_kernels")]
#: What a cell sees, and then changes.
LOOK = """
import builtins, json, os, sys, matplotlib
seen = {
    "pandas": "pandas" in sys.modules,
    "parent": os.getppid(),
    "left": hasattr(builtins, "left") or matplotlib.rcParams["font.size"] == 99,
    "cwd": os.getcwd(),
    "home": os.environ["IPYTHONDIR"],
    "hash": os.environ["PYTHONHASHSEED"],
    "path": sys.path[0],
}
builtins.left = True
matplotlib.rcParams["font.size"] = 99
print(json.dumps(seen))
"""


def look(folder):
    cells = [new_code_cell("a = 1", metadata={"tags": ["parameters"]}), new_code_cell(LOOK)]
    nbformat.write(new_notebook(cells=cells), folder / "look.ipynb")
    found = run.execute(folder / "look.ipynb", {"a": 1}, folder)
    return json.loads(found.cells[-1].outputs[0].text)


def test_each_kernel_is_fresh_and_has_its_own_folder(tmp_path):
    plain = look(tmp_path)
    with warm.kept():
        first, second = look(tmp_path), look(tmp_path)
        os.kill(first["parent"], signal.SIGKILL)
        os.waitid(os.P_PID, first["parent"], os.WEXITED | os.WNOWAIT)
        third = look(tmp_path)
    assert not plain["pandas"] and first["pandas"] and second["pandas"]
    assert first["parent"] == second["parent"] not in (plain["parent"], os.getpid())
    assert first["home"] != second["home"]
    for each in (first, second):
        assert not each["left"]
        assert {k: each[k] for k in ("cwd", "hash", "path")} == {
            k: plain[k] for k in ("cwd", "hash", "path")
        }
    assert third["parent"] != first["parent"], "what was killed is started again"
    assert not Path(f"/proc/{third['parent']}").exists(), "what forks outlives the batch"
