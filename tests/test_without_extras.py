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
#: Runs commands one after the other, each in an empty folder: code, output, errors, files left.
COMMANDS = """
import contextlib, io, json, os, tempfile
from thread_repair.cli import main
for command in json.loads(sys.argv[1]):
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main(command)
        print(json.dumps([code, out.getvalue(), err.getvalue(), os.listdir()]))
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


def without(script, *arguments):
    blocked = modules(names(PROJECT["optional-dependencies"]["report"]) | {"clarabel"})
    assert {"typst", "pypandoc", "papermill", "nbformat", "openpyxl", "clarabel"} <= blocked
    return subprocess.run(
        [sys.executable, "-c", BLOCKED + script, ",".join(blocked), *map(str, arguments)],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        check=False,
    )


def test_the_core_needs_what_runs_in_a_browser_only():
    assert names(PROJECT["dependencies"]) == RUNS_IN_A_BROWSER


def typed(*commands):
    """What becomes of each command where what builds documents is missing."""
    done = without(COMMANDS, json.dumps(commands))
    assert done.returncode == 0, done.stderr
    return zip(commands, map(json.loads, done.stdout.splitlines()), strict=True)


def test_commands_that_build_nothing_run():
    for command, (code, out, err, left) in typed(
        ("ask", "M8", "6082-T6", "8.8", "blind", "20"),
        ("evaluate", DEMO),
        ("evaluate", DEMO, "--json"),
        ("compare", DEMO),
        ("list", "parents"),
    ):
        assert (code, err, left) == (0, "", []) and out, command


def test_a_command_that_needs_more_says_what_to_type():
    for command, (code, out, err, left) in typed(
        ("report", DEMO),
        ("report", "--notebook", "verification"),
        ("page", "page.html"),
        ("exercises", "--out", "papers"),
        ("new", "--table", "table.xlsx"),
    ):
        assert (code, out, left) == (1, "", []), command
        assert re.fullmatch(SENTENCE, err), command


def test_sizes_that_are_in_no_table_are_refused_without_the_solver():
    solve = (
        "from thread_repair.strength.collapse.bounds import cell_bounds\n"
        "from thread_repair.errors import MissingPackageError\n"
        "try:\n    cell_bounds(screw_major=8, hole_minor=6.647, hole_pitch_diameter=7.188,"
        " hole_major=8, pitch=1.25)\nexcept MissingPackageError as error:\n    print(error)\n"
    )
    assert re.fullmatch(SENTENCE.replace(r"\w+", "clarabel"), without(solve).stdout)


def test_the_panel_offers_what_it_can_draw():
    show = (
        "from thread_repair.teaching import widgets\nfrom thread_repair.teaching.explorer import *\n"
        "panel = widgets.Panel(Controls())\nprint([each['name'] for each in panel.seconds])\n"
        "assert all(panel.shown['pictures'])"
    )
    shown = without(show)
    assert shown.returncode == 0, shown.stderr
    assert "section" in shown.stdout and "collapse" not in shown.stdout
    assert "collapse" in {each["name"] for each in widgets.Panel(Controls()).seconds}


def test_copies_are_marked(tmp_path):
    copies.write(9_876_543_210_123, tmp_path / "paper")
    out = tmp_path / "marks.csv"
    paper = str(tmp_path / "paper")
    ((_, (code, said, err, _)),) = typed(
        ("exercises", "--mark", f"{paper}/students", "--keys", f"{paper}/teacher/key.json",
         "--out", str(out))
    )  # fmt: skip
    assert (code, err) == (0, "")
    assert "1 marked, 0 not marked" in said and out.is_file()


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
def test_the_site_has_notebooks_package_and_interpreter(tmp_path):
    pytest.importorskip("jupyterlite_core")
    pytest.importorskip("jupyterlite_pyodide_kernel")
    copies.write(9_876_543_210_123, tmp_path / "paper")
    site = tmp_path / "site"
    clean = {k: v for k, v in os.environ.items() if k != "PYTHONHOME"} | {"PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-m", "thread_repair.teaching.lite", site, tmp_path / "paper" / copies.STUDENT],
        env=clean, cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if "NewConnectionError" in done.stderr or "No matching distribution" in done.stderr:
        pytest.skip("the build backend cannot be fetched without a network")
    assert done.returncode == 0, done.stderr
    assert {each.name for each in tmp_path.iterdir()} == {"paper", "site"}
    assert (site / "index.html").is_file() and (site / "lab" / "index.html").is_file()
    listed = json.loads((site / "api" / "contents" / "all.json").read_text("utf-8"))["content"]
    assert {each["name"] for each in listed} == {"why_inserts.ipynb", "exercises.ipynb"}
    for each in listed:
        cells = json.loads((site / "files" / each["path"]).read_text("utf-8"))["cells"]
        assert 'piplite.install("thread-repair")' in cells[0]["source"]
    key = json.loads((tmp_path / "paper" / copies.KEY).read_text("utf-8"))
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
