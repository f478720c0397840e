"""A report says which program made it, and another program makes it anew."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import thread_repair as tr
from thread_repair import program

ROOT = Path(__file__).parents[1]


def test_the_version_is_the_state_of_the_clone():
    commit = subprocess.run(
        ("git", "rev-parse", "HEAD"), cwd=ROOT, capture_output=True, text=True
    ).stdout
    found = program.version()
    if commit:
        assert found.partition("-dirty")[0] == f"{tr.__version__}+g{commit[:12]}"
    else:
        assert re.fullmatch(r"[\d.]+\+p[0-9a-f]{12}", found)


def test_two_changes_of_the_data_are_two_versions(monkeypatch):
    done = subprocess.CompletedProcess((), 0, stdout="0123456789ab-dirty\n")
    monkeypatch.setattr(program.subprocess, "run", lambda *_, **__: done)
    monkeypatch.setattr(Path, "exists", lambda _: True)
    versions = set()
    for digest in ("a" * 64, "b" * 64):
        monkeypatch.setattr(program, "_files_digest", lambda digest=digest: digest)
        versions.add(program.version.__wrapped__())
    assert versions == {f"{tr.__version__}+g0123456789ab-dirty.p{c * 12}" for c in "ab"}


def test_without_git_the_files_say_it(monkeypatch):
    monkeypatch.setenv("PATH", "")
    found = program.version.__wrapped__()
    assert found == f"{tr.__version__}+p{program._files_digest()[:12]}"


def test_the_command_tells_the_version():
    command = (sys.executable, "-m", "thread_repair", "--version")
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0 and done.stdout == f"thread-repair {program.version()}\n"


def test_every_package_that_a_report_passes_through_is_listed():
    found = program.packages()
    # used here, or by what is used: the fonts and pictures of figures, the messages of the kernel
    for name in ("numpy", "typst", "pypandoc-binary", "pillow", "fonttools", "pyzmq", "traitlets"):
        assert found[name][0].isdigit(), name
    assert found["python"] == ".".join(map(str, sys.version_info[:3]))
    assert "pytest" not in found and "jupyterlab" not in found
    for name in ("numpy", "pypandoc_binary", "typst"):
        assert f"{name} {found[name.replace('_', '-')]}" in program.sentence()


def test_the_list_of_the_oldest_is_that_of_the_lower_bounds():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    listed = (ROOT / "tests" / "oldest.txt").read_text().splitlines()[1:]
    bounds = [*project["dependencies"], *project["optional-dependencies"]["report"]]
    assert listed == [bound.replace(">=", "==") for bound in bounds]


@pytest.mark.parametrize("name", ["pillow", "python", "pyzmq"])
def test_another_release_of_any_of_them_is_another_program(monkeypatch, name):
    before = program.digest.__wrapped__()
    changed = {**program.packages(), name: "0"}
    monkeypatch.setattr(program, "packages", lambda: changed)
    assert program.digest.__wrapped__() != before
