"""A notebook is run as it should be, or refused in one sentence."""

import asyncio
import sys
from pathlib import Path

import nbformat
import pytest
from jupyter_client.manager import KernelManager
from jupyter_core.utils import run_sync
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

from thread_repair.errors import InputError, ReportError
from thread_repair.report import kernel, run

from .typed import gone


def notebook(tmp_path, *sources, parameters="a = 1"):
    cells = [new_markdown_cell("## Loads")]
    if parameters is not None:
        cells.append(new_code_cell(parameters, metadata={"tags": ["parameters"]}))
    path = tmp_path / "n.ipynb"
    nbformat.write(new_notebook(cells=cells + [new_code_cell(source) for source in sources]), path)
    return path


def executed(tmp_path, *sources, parameters="a = 1", given=None):
    folder = tmp_path / "build"
    folder.mkdir()
    given = {"a": 2} if given is None else given
    return run.execute(notebook(tmp_path, *sources, parameters=parameters), given, folder)


def test_a_notebook_runs_where_a_loop_runs_already(tmp_path):
    """As in JupyterLab, from where somebody may build reports too."""

    async def caller():
        return executed(tmp_path, "print(a)")

    assert asyncio.run(caller()).cells[-1].outputs[0].text == "2\n"


def test_a_folder_named_from_where_we_stand(tmp_path, monkeypatch):
    """As in `thread-repair report cases/cover`."""
    monkeypatch.chdir(tmp_path)
    assert executed(Path("."), "print(a)").cells[-1].outputs[0].text == "2\n"


def test_declared_parameters(tmp_path):
    path = notebook(tmp_path, parameters="# all\ntitle = 'x'\nlength: str = '12 mm'\na = b = 1")
    assert run.declared_parameters(path) == ("title", "length", "a", "b")


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (None, "has no cell tagged 'parameters'"),
        ("import os", "must be of the form: name = value"),
        ("a.b = 1", "with one plain name"),
        ("a = ", "is not Python"),
    ],
)
def test_a_parameters_cell_that_declares_nothing_clear_is_refused(tmp_path, cell, text):
    with pytest.raises(ReportError, match=text):
        run.declared_parameters(notebook(tmp_path, parameters=cell))


def test_what_is_no_notebook_is_refused(tmp_path):
    with pytest.raises(ReportError, match="no notebook at"):
        run.read_notebook(tmp_path / "none.ipynb")
    (tmp_path / "x.ipynb").write_text("{")
    with pytest.raises(ReportError, match="is not a Jupyter notebook"):
        run.read_notebook(tmp_path / "x.ipynb")


@pytest.mark.slow
def test_values_arrive_unchanged_in_this_interpreter_and_away_from_settings(tmp_path):
    value = [
        '1\' or "x"',
        "a\\nb\\",
        "line\nline\ttab",
        "nul\0",
        "漢字 \ud83d\ude00 שלום",
        "{a}",
        "$x$",
        1.5,
        -2,
        True,
        None,
        {"k": "v'"},
    ]
    source = (
        "import os, sys, json\nprint(sys.executable)\nprint(os.getcwd())\n"
        "print(json.dumps(a))\nprint(os.environ['IPYTHONDIR'])"
    )
    node = executed(tmp_path, source, given={"a": value})
    lines = node.cells[-1].outputs[0].text.splitlines()
    assert lines[0] == sys.executable
    assert lines[1] == str(tmp_path / "build")
    import json

    assert json.loads(lines[2]) == json.loads(json.dumps(value))
    assert "k-" in lines[3] or "thread-repair-" in lines[3]
    assert not list((tmp_path / "build").iterdir())  # the kernel's files are gone
    assert "papermill" not in node.metadata and "papermill" not in node.cells[0].metadata


@pytest.mark.slow
def test_a_failing_cell_is_named_with_its_error(tmp_path):
    with pytest.raises(ReportError) as error:
        executed(tmp_path, "1 / 0")
    assert (
        str(error.value) == "code cell 3 under 'Loads' failed: ZeroDivisionError: division by zero"
    )


@pytest.mark.slow
def test_a_fault_of_the_case_stays_a_fault_of_the_case(tmp_path):
    source = "from thread_repair.errors import GeometryError\nraise GeometryError('too shallow')"
    with pytest.raises(InputError, match=r"^too shallow$"):
        executed(tmp_path, source)


@pytest.mark.slow
def test_a_warning_is_not_printed_silently(tmp_path):
    source = "import warnings\nwarnings.warn('doubtful')"
    with pytest.raises(
        ReportError, match="code cell 3 under 'Loads' gave a warning: UserWarning: doubtful"
    ):
        executed(tmp_path, source)


@pytest.mark.slow
def test_a_killed_kernel_is_told(tmp_path):
    with pytest.raises(ReportError, match="ended from outside or crashed"):
        executed(tmp_path, "import os, signal\nos.kill(os.getpid(), signal.SIGKILL)")


@pytest.mark.slow
def test_a_cell_that_takes_too_long_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(run, "CELL_TIMEOUT", 1)
    with pytest.raises(ReportError, match="ran longer than 1 s"):
        executed(tmp_path, "import time\ntime.sleep(60)")


def test_a_kernel_that_was_ended_is_not_started_again(tmp_path):
    """Whoever talks to it would begin anew, in another folder, while the build is given up."""
    with kernel.started(tmp_path) as manager:
        kernel._end(manager)
        with pytest.raises(RuntimeError, match="was ended"):
            run_sync(manager.start_kernel)()
        assert not manager.has_kernel


def test_an_end_while_a_kernel_starts_leaves_no_kernel(tmp_path, monkeypatch):
    """It wrote on into the folder that was cleared, and so the folder stayed."""
    begun = []

    async def asked_to_end(manager, **_):
        begun.append(manager.provisioner.pid)
        raise SystemExit(1)

    monkeypatch.setattr(KernelManager, "_async_post_start_kernel", asked_to_end)
    with pytest.raises(SystemExit), kernel.started(tmp_path):
        pytest.fail("it was not asked to end")
    assert gone(*begun)
