"""The bad day: full disk, no network, a folder that is none, other clock, locale and place."""

import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_notebook

from tests.whole import is_whole
from thread_repair.cli import main

from .conftest import LEAVES
from .typed import Typed, gone, until

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "reports" / "demo-rig-plate" / "case.yaml"

pytestmark = pytest.mark.slow

COMMAND = [sys.executable, "-m", "thread_repair", "report"]


def can(*command):
    """Whether this machine lets us do it: in a container it may not."""
    try:
        return subprocess.run(command, capture_output=True).returncode == 0
    except FileNotFoundError:
        return False


def locales():
    return subprocess.run(("locale", "-a"), capture_output=True, text=True).stdout.split()


def environment(**changes):
    paths = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH", "")]))
    return {**os.environ, "PYTHONPATH": paths, **changes}


def test_same_bytes_elsewhere_without_network_clock_or_locale(tmp_path, shipped_report):
    """Two folders, two processes: the second far away, offline, years later, in another language."""
    here = shipped_report("repair_justification")
    far = tmp_path / ("Prüfstand 孔 " + "long " * 30).strip() / "ü"
    far.mkdir(parents=True)
    shutil.copy(DEMO, far)
    later = ("faketime", "2031-12-31 23:59:58")
    clock = later if can(*later, "true") else ()
    offline = ["unshare", "-n"] if can("unshare", "-n", "true") else []
    done = subprocess.run(
        [*offline, *clock, *COMMAND, str(far)],
        cwd=ROOT,
        env=environment(
            TZ="Asia/Kathmandu",
            # Where it is installed: "i" and "I" are not one letter there, and 1.5 is "1,5".
            LC_ALL="tr_TR.UTF-8" if "tr_TR.utf8" in locales() else "C",
            PYTHONIOENCODING="ascii",
            PYTHONHASHSEED="77",
            HOME="/dev/null",
            SOURCE_DATE_EPOCH="1000000000",
            http_proxy="http://127.0.0.1:9",
            https_proxy="http://127.0.0.1:9",
        ),
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    endings = ("pdf", "html", "docx", "ipynb")
    for name in ("results.json", *(f"repair_justification.{ending}" for ending in endings)):
        assert (here / name).read_bytes() == (far / name).read_bytes(), name


def said(capsys, code, *arguments):
    assert main(["report", *map(str, arguments)]) == code
    printed = capsys.readouterr()
    assert "Traceback" not in printed.err and len(printed.err.splitlines()) == 1, printed.err
    return printed.err


def test_a_folder_that_cannot_be_written_to(tmp_path, plain, capsys):
    shutil.copy(DEMO, tmp_path)
    (tmp_path / "file").write_text("x")
    command = (tmp_path, "--notebook", plain, "--to", "html", "--out")
    assert "is no folder" in said(capsys, 2, *command, tmp_path / "file")
    # Root may write where the permissions say no, but not here.
    assert "could not be written" in said(capsys, 1, *command, "/proc/none")
    assert "File name too long" in said(capsys, 1, *command, tmp_path / ("x" * 300))
    assert "File name too long" in said(
        capsys, 1, *command, "/".join([str(tmp_path)] + 900 * ["deep"])
    )
    assert sorted(path.name for path in tmp_path.iterdir()) == ["case.yaml", "file"]


@pytest.mark.usefixtures("at_once")
def test_a_full_disk_keeps_the_earlier_report(tmp_path, plain, capsys):
    disk = tmp_path / "disk"
    disk.mkdir()
    if not can("mount", "-t", "tmpfs", "-o", "size=300k", "none", str(disk)):
        pytest.skip("no small disk can be mounted here; test_publish refuses every call instead")
    try:
        shutil.copy(DEMO, disk)
        assert main(["report", str(disk), "--notebook", str(plain), "--to", "html"]) == 0
        before = {p.name: p.read_bytes() for p in disk.iterdir()}
        capsys.readouterr()
        filler = disk / "filler"
        room = os.statvfs(disk)
        filler.write_bytes(b"x" * max(0, (room.f_bavail - 3) * room.f_bsize))
        text = said(capsys, 1, disk, "--notebook", plain, "--to", "pdf", "html", "docx", "--again")
        assert "No space left" in text or "could not be" in text
        filler.unlink()
        assert {p.name: p.read_bytes() for p in disk.iterdir()} == before
        assert is_whole(disk)
    finally:
        subprocess.run(["umount", str(disk)], check=False)


def test_few_open_files_are_named(tmp_path, plain, typed):
    shutil.copy(DEMO, tmp_path)
    command = (tmp_path, "--notebook", plain, "--to", "html")
    code, error = typed(*command, limit=(64, 64)).end()
    assert code == 1 and len(error.splitlines()) == 1
    assert "may have 64 files open at a time (ulimit -n)" in error
    # A soft limit alone is ours to raise.
    most = resource.getrlimit(resource.RLIMIT_NOFILE)[1]
    assert typed(*command, limit=(64, most)).end() == (0, "")


def test_a_fresh_kernel_without_a_cache_makes_the_same_bytes(tmp_path, toy, typed):
    """Where the folder for temporary files is too long for sockets, no kernel can be forked."""
    folders = here, far = [tmp_path / "here", tmp_path / "another folder, longer"]
    for folder in folders:
        folder.mkdir()
        shutil.copy(DEMO, folder)
    node = nbformat.read(toy, as_version=4)
    node.cells.append(new_code_cell(LEAVES))
    own = tmp_path / "own.ipynb"
    nbformat.write(node, own)
    command = ("--notebook", own, "--to", "pdf", "html", "docx")
    assert main(["report", str(here), *map(str, command)]) == 0
    long = tmp_path / ("t" * 120)
    long.mkdir()
    # Root may write anywhere, but not below a file.
    run = typed(
        far, *command,
        MPLCONFIGDIR="/dev/null/none", HOME="/dev/null", TMPDIR=str(long), TZ="Asia/Tokyo",
        LC_ALL="C", PYTHONHASHSEED="7", SOURCE_DATE_EPOCH="1700000000",
    )  # fmt: skip
    assert run.end() == (0, "")
    assert list(long.iterdir()) == []
    for name in ("own.pdf", "own.html", "own.docx", "own.ipynb", "results.json"):
        assert (here / name).read_bytes() == (far / name).read_bytes(), name


@pytest.mark.usefixtures("at_once")
def test_a_folder_whose_name_is_not_text(tmp_path, plain):
    folder = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9"))
    folder.mkdir()
    shutil.copy(DEMO, folder)
    assert main(["report", str(folder), "--notebook", str(plain)]) == 0
    assert is_whole(folder)


def running(tmp_path, plain, typed, *, workers):
    """Start a batch and wait until a cell of it runs.

    Returns the command, the process that builds and the folder for temporary files.
    """
    node = nbformat.read(plain, as_version=4)
    flag = tmp_path / "running"
    told = f"open({str(flag)!r}, 'w').write(str(os.getppid()))"
    node.cells.append(new_code_cell(f"import os, time\n{told}\ntime.sleep(60)"))
    slow = tmp_path / "slow.ipynb"
    nbformat.write(node, slow)
    temporary = Path(tempfile.mkdtemp())  # short: sockets stand in it
    table = batch_of(tmp_path, 3)
    run = typed(table, "--notebook", slow, "--jobs", workers, TMPDIR=str(temporary))
    until(lambda: flag.exists() and flag.read_text(), run)
    return run, int(flag.read_text()), temporary


@pytest.mark.parametrize(
    ("name", "whole_group", "workers"),
    [("SIGINT", True, 2), ("SIGTERM", False, 2), ("SIGHUP", True, 1)],
)
def test_an_end_that_asks_leaves_nothing(tmp_path, plain, typed, name, whole_group, workers):
    """Ctrl-C and a closed terminal reach every process of the command, `kill` only the first."""
    run, _, temporary = running(tmp_path, plain, typed, workers=workers)
    (os.killpg if whole_group else os.kill)(run.pid, getattr(signal, name))
    code, error = run.end(60)
    assert code == 1 and [*temporary.iterdir(), *(tmp_path / "t").glob("*")] == []
    assert "Traceback" not in error and "Interrupt" not in error and "stopped; " in error


def test_a_batch_that_is_killed_takes_what_builds_with_it(tmp_path, plain, typed):
    """It would build on, and publish, beside the batch that is started again."""
    run, builds, temporary = running(tmp_path, plain, typed, workers=1)
    run.kill()
    assert gone(builds)
    shutil.rmtree(temporary)


def test_two_commands_at_once_on_one_case(tmp_path, plain, typed):
    """One builds, the other says so or finds it finished; what stands is whole."""
    shutil.copy(DEMO, tmp_path)
    started = [typed(tmp_path, "--notebook", plain, "--to", "html") for _ in range(2)]
    found = [each.end() for each in started]
    assert sorted(code for code, _ in found) in ([0, 1], [0, 0])
    for code, error in found:
        assert "Traceback" not in error
        assert code == 0 or "another build" in error
    assert is_whole(tmp_path)


def batch_of(folder, count):
    lines = ["name,thread,screw,parent,engagement,insert_length,title"]
    lines += [f"c{n:02d},M8,8.8,6061-T6,12 mm,1.5 D,Cover {n}" for n in range(count)]
    table = folder / "t.csv"
    table.write_text("\n".join(lines) + "\n")
    return table


def kill_and_restart(folder, notebook, typed, *, count, kills, seed):
    """Kill a batch at random moments, starting it again each time; then let it end.

    Returns how many reports stood after each kill, and how often a whole one was built again.
    """
    rng = random.Random(seed)
    table, reports = batch_of(folder, count), folder / "t"
    command = [str(table), "--notebook", str(notebook), "--to", "html", "--jobs", "2"]
    standing, again = [], 0

    def whole():
        return {
            path.name: (path / "plain.html").stat().st_ino
            for path in (reports.iterdir() if reports.is_dir() else ())
            if is_whole(path)
        }

    before = {}
    for _ in range(kills):
        run = typed(*command)
        # A line of progress for each report that stood, for some that are built, then a moment.
        lines = len(before) + rng.randint(1, 5)
        while run.poll() is None and run.errors().count("\n") < lines:
            time.sleep(0.02)
        time.sleep(rng.uniform(0, 1.5))
        run.kill()  # the command alone: its workers are orphans now
        _, error = run.end()
        assert "Traceback" not in error, error
        now = whole()
        again += sum(now.get(name) != inode for name, inode in before.items())
        before, standing = now, [*standing, len(now)]
        if len(now) == count:  # all done: begin anew
            shutil.rmtree(reports)
            before = {}
    assert main(["report", *command]) == 0
    now = whole()
    again += sum(now.get(name) != inode for name, inode in before.items())
    assert len(now) == count
    for path in reports.iterdir():
        if path.is_dir():
            assert not [p.name for p in path.iterdir() if "build" in p.name or "lock" in p.name]
    return standing, again


def test_killed_and_started_again(tmp_path, plain, typed):
    """By hand, twenty kills: python -m tests.reports.test_bad_day 20"""
    _, again = kill_and_restart(tmp_path, plain, typed, count=3, kills=1, seed=5)
    assert again == 0


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        cell = new_code_cell('title = "x"', metadata={"tags": ["parameters"]})
        cells = [cell, new_code_cell("print(title)")]
        nbformat.write(new_notebook(cells=cells), Path(name) / "plain.ipynb")
        kills = int(sys.argv[1]) if len(sys.argv) > 1 else 20
        counts, twice = kill_and_restart(
            Path(name), Path(name) / "plain.ipynb",
            lambda *command: Typed(tempfile.mkdtemp(dir=name), *command),
            count=20, kills=kills, seed=None,
        )  # fmt: skip
        print(f"whole reports after each kill: {counts}; built again without need: {twice}")
