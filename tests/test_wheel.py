"""Installed as a wheel, everything works in an empty folder: no clone, no file outside the wheel."""

import json
import os
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
pytestmark = pytest.mark.slow
#: What the wheel is built from; not the clone itself, where a build would leave its folders.
SOURCE = ("thread_repair", "notebooks", "reports", "pyproject.toml", "README.md")


@pytest.fixture(scope="module")
def installed(tmp_path_factory):
    """The command of a wheel in an environment of its own; what it needs is that of the tests."""
    folder = tmp_path_factory.mktemp("wheel")
    source = folder / "source"
    for name in SOURCE:
        where = ROOT / name
        if where.is_dir():
            shutil.copytree(where, source / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(where, source / name)
    home = folder / "home"
    run([sys.executable, "-m", "venv", "--without-pip", home], folder)
    # Builds the wheel, in an environment of its own, and installs it.
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check"]
    install = ["--python", home / "bin" / "python", "install", "--quiet", "--no-deps", source]
    done = run([*pip, *install], folder)
    if "NewConnectionError" in done.stderr or "No matching distribution" in done.stderr:
        pytest.skip("the build backend cannot be fetched without a network")
    assert done.returncode == 0, done.stderr
    (site,) = home.glob("lib/python*/site-packages")
    # After the wheel in the path, and without the .pth file that names the clone.
    (site / "needed.pth").write_text(sysconfig.get_paths()["purelib"])
    return home / "bin" / "thread-repair"


def run(command, folder):
    clean = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "PYTHONHOME")}
    return subprocess.run(
        [str(each) for each in command], cwd=folder, env=clean, capture_output=True, text=True
    )


def test_it_is_the_wheel_that_runs(installed, tmp_path):
    found = run(
        [installed.with_name("python"), "-c", "import thread_repair as t; print(t.__file__)"],
        tmp_path,
    )
    assert Path(found.stdout.strip()).is_relative_to(installed.parents[1])


def test_everything_that_the_clone_ships_is_in_the_wheel(installed):
    share = installed.parents[1] / "share" / "thread-repair"
    for source in (ROOT / "notebooks").glob("*.ipynb"):
        assert (share / "notebooks" / source.name).read_bytes() == source.read_bytes()
    assert (share / "reports" / "demo-rig-plate" / "case.yaml").exists()
    (package,) = installed.parents[1].glob("lib/python*/site-packages/thread_repair")
    for source in (ROOT / "thread_repair").rglob("*"):
        if source.is_file() and "__pycache__" not in source.parts:
            assert (package / source.relative_to(ROOT / "thread_repair")).exists(), source


#: What is typed, and what it says or the files that it makes.
COMMANDS = {
    "ask M8 6082-T6 8.8 blind 20 --save job": "Supports the repair",
    "evaluate job --json": '"hole_depth": "20 mm"',
    "compare job": "Wire thread insert: 2.0 D, 16 mm",
    "new own": "own",
    "evaluate own": "supports the repair",
    "list threads": "M8x1.25",
    "list sources": "iso-898-1",
    "exercises --seed 20267193845512 --out class": ["class/students/exercises.ipynb"],
    "report --notebook concession_sheet": [
        f"demo-rig-plate/{name}"
        for name in ("concession_sheet.pdf", "concession_sheet.html", "concession_sheet.docx", "results.json")
    ],
}  # fmt: skip
NOTEBOOKS = sorted(each.stem for each in (ROOT / "notebooks").glob("*.ipynb"))
#: Runs them in one process and prints of each its exit code and output, as a line of JSON; last
#: where each notebook is found. Chances, which take longest, need no file that the others do not.
ALL = """
import contextlib, io, json, sys
from thread_repair.cli import main
from thread_repair.report import jobs, subjects
subjects.chances = lambda study: {}
lines, notebooks = json.loads(sys.argv[1])
for line in lines:
    with contextlib.redirect_stdout(io.StringIO()) as out:
        code = main(line.split())
    print(json.dumps([code, out.getvalue()]))
print(json.dumps([str(jobs.notebook_path(each)) for each in notebooks]))
"""


def test_everything_works_in_an_empty_folder(installed, tmp_path):
    python = installed.with_name("python")
    found = run([python, "-c", ALL, json.dumps([list(COMMANDS), NOTEBOOKS])], tmp_path)
    assert found.returncode == 0 and "Traceback" not in found.stderr, found.stderr
    *commands, notebooks = map(json.loads, found.stdout.splitlines())
    for (line, expected), (code, said) in zip(COMMANDS.items(), commands, strict=True):
        assert code == 0, line
        for name in expected if isinstance(expected, list) else ():
            assert (tmp_path / name).stat().st_size > 1000, name
        assert isinstance(expected, list) or expected in said, (line, said)
    assert [Path(each).stem for each in notebooks] == NOTEBOOKS
    assert all(Path(each).is_relative_to(installed.parents[1]) for each in notebooks)
    typed = run([installed, "workbook", "--help"], tmp_path)
    assert typed.returncode == 0 and "--no-browser" in typed.stdout
