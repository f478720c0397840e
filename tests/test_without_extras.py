"""What evaluates, teaches and marks needs no package that builds documents."""

import asyncio
import json
import os
import re
import subprocess
import sys
import threading
import tomllib
import zipfile
from importlib import metadata
from pathlib import Path

import pytest

from thread_repair.errors import InputError
from thread_repair.teaching import copies, lite, widgets
from thread_repair.teaching.explorer import Controls

ROOT = Path(__file__).parents[1]
DEMO = str(ROOT / "reports" / "demo-rig-plate")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
#: Pure Python, or among the packages of Pyodide 314 (its list of packages, read).
RUNS_IN_A_BROWSER = {
    "numpy", "scipy", "matplotlib", "pandas", "attrs", "PyYAML", "clarabel",
    "pint", "ipywidgets", "anywidget",
}  # fmt: skip
SENTENCE = r"this needs the package \w+, which is not installed; type: pip install 'thread-repair\[report\]'\n"

#: Runs a command where the modules named first cannot be imported.
BLOCKED = """
import sys
from importlib.abc import MetaPathFinder

class Missing(MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in NAMES:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)

NAMES = sys.argv.pop(1).split(",")
sys.meta_path.insert(0, Missing())
import importlib.util
found = importlib.util.find_spec
importlib.util.find_spec = lambda name, *rest: None if name in NAMES else found(name, *rest)
"""
#: Runs commands, and lines of Python, one after the other, each in an empty folder: code, output,
#: errors, files left.
EACH = """
import contextlib, io, json, os, tempfile
from thread_repair.cli import main
for each in json.loads(sys.argv[1]):
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = exec(each, {}) if isinstance(each, str) else main(each)
        print(json.dumps([code, out.getvalue(), err.getvalue(), os.listdir()]))
"""
BUILD_NOTHING = (
    ("ask", "M8", "6082-T6", "8.8", "blind", "20"),
    ("evaluate", DEMO),
    ("evaluate", DEMO, "--json"),
    ("compare", DEMO),
    ("list", "parents"),
)
NEED_MORE = (
    ("report", DEMO),
    ("report", "--notebook", "verification"),
    ("page", "page.html"),
    ("exercises", "--out", "papers"),
    ("new", "--table", "table.xlsx"),
)
SOLVE = """
from thread_repair.errors import MissingPackageError
from thread_repair.strength.collapse.bounds import cell_bounds
try:
    cell_bounds(screw_major=8, hole_minor=6.647, hole_pitch_diameter=7.188, hole_major=8, pitch=1.25)
except MissingPackageError as error:
    print(error)
"""
PANEL = """
from thread_repair.teaching import widgets
from thread_repair.teaching.explorer import *
panel = widgets.Panel(Controls())
print([each['name'] for each in panel.seconds])
assert all(panel.shown['pictures'])
"""


def names(requirements):
    return {re.match(r"[\w-]+", each)[0] for each in requirements}


def modules(distributions):
    wanted = {each.lower().replace("_", "-") for each in distributions}
    return {
        module
        for module, found in metadata.packages_distributions().items()
        if wanted & {each.lower().replace("_", "-") for each in found}
    }


@pytest.fixture(scope="module")
def paper(tmp_path_factory):
    """An exercise paper and its key."""
    folder = tmp_path_factory.mktemp("without") / "paper"
    copies.write(9_876_543_210_123, folder)
    return folder


@pytest.fixture(scope="module")
def marking(paper):
    """The command that marks the paper."""
    return ("exercises", "--mark", f"{paper}/students", "--keys", f"{paper}/teacher/key.json",
            "--out", f"{paper}/marks.csv")  # fmt: skip


@pytest.fixture(scope="module")
def told(marking):
    """What becomes of each where what builds documents is missing."""
    blocked = modules(names(PROJECT["optional-dependencies"]["report"]) | {"clarabel"})
    assert {"typst", "pypandoc", "papermill", "nbformat", "openpyxl", "clarabel"} <= blocked
    each = [*BUILD_NOTHING, *NEED_MORE, marking, SOLVE, PANEL]
    done = subprocess.run(
        [sys.executable, "-c", BLOCKED + EACH, ",".join(blocked), json.dumps(each)],
        capture_output=True, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return dict(zip(each, map(json.loads, done.stdout.splitlines()), strict=True))


def test_the_core_needs_what_runs_in_a_browser_only():
    assert names(PROJECT["dependencies"]) == RUNS_IN_A_BROWSER


@pytest.mark.parametrize("command", BUILD_NOTHING, ids=" ".join)
def test_commands_that_build_nothing_run(told, command):
    code, out, err, left = told[command]
    assert (code, err, left) == (0, "", []) and out


@pytest.mark.parametrize("command", NEED_MORE, ids=" ".join)
def test_a_command_that_needs_more_says_what_to_type(told, command):
    code, out, err, left = told[command]
    assert (code, out, left) == (1, "", [])
    assert re.fullmatch(SENTENCE, err)


def test_sizes_that_are_in_no_table_are_refused_without_the_solver(told):
    assert re.fullmatch(SENTENCE.replace(r"\w+", "clarabel"), told[SOLVE][1])


def test_the_panel_offers_what_it_can_draw(told):
    assert "section" in told[PANEL][1] and "collapse" not in told[PANEL][1]
    assert "collapse" in {each["name"] for each in widgets.Panel(Controls()).seconds}


def test_copies_are_marked(told, marking, paper):
    code, said, err, _ = told[marking]
    assert (code, err) == (0, "")
    assert "1 marked, 0 not marked" in said and (paper / "marks.csv").is_file()


def test_the_collapse_is_drawn_where_no_thread_can_start(monkeypatch):
    def refuse(_thread):
        raise RuntimeError("can't start new thread")

    async def choose():
        panel = widgets.Panel(Controls(boss=1.75))
        monkeypatch.setattr(widgets, "_SOLVER", widgets.ThreadPoolExecutor(1))
        monkeypatch.setattr(threading.Thread, "start", refuse)
        panel.at = panel.at | {"second": "collapse"}
        return panel.shown

    shown = asyncio.run(choose())
    assert shown["second"] == "collapse" and shown["pictures"][1].startswith("<svg")


def test_a_site_is_not_written_over_anything(tmp_path):
    pytest.importorskip("jupyterlite_pyodide_kernel")
    with pytest.raises(InputError, match="exists; give another"):
        lite.write(tmp_path, [])


@pytest.mark.slow
def test_the_site_has_notebooks_package_and_interpreter(tmp_path, paper):
    pytest.importorskip("jupyterlite_core")
    pytest.importorskip("jupyterlite_pyodide_kernel")
    site = tmp_path / "site"
    clean = {k: v for k, v in os.environ.items() if k != "PYTHONHOME"} | {"PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-m", "thread_repair.teaching.lite", site, paper / copies.STUDENT],
        env=clean, cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if "NewConnectionError" in done.stderr or "No matching distribution" in done.stderr:
        pytest.skip("the build backend cannot be fetched without a network")
    assert done.returncode == 0, done.stderr
    assert {each.name for each in tmp_path.iterdir()} == {"site"}
    assert (site / "index.html").is_file() and (site / "lab" / "index.html").is_file()
    listed = json.loads((site / "api" / "contents" / "all.json").read_text("utf-8"))["content"]
    assert {each["name"] for each in listed} == {"why_inserts.ipynb", "exercises.ipynb"}
    for each in listed:
        cells = json.loads((site / "files" / each["path"]).read_text("utf-8"))["cells"]
        assert 'piplite.install("thread-repair")' in cells[0]["source"]
    key = json.loads((paper / copies.KEY).read_text("utf-8"))
    assert str(key["seed"]) not in (site / "files" / "exercises.ipynb").read_text("utf-8")
    assert "thread-repair" in json.loads((site / "pypi" / "all.json").read_text("utf-8"))
    (wheel,) = (site / "pypi").glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        assert "thread_repair/teaching/widgets.py" in archive.namelist()
    extensions = site / "extensions"
    for name in (
        "@jupyterlite/pyodide-kernel-extension",
        "@jupyter-widgets/jupyterlab-manager",
        "anywidget",
    ):
        assert (extensions / name / "package.json").is_file(), name
