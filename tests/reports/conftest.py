"""The toy report, executed once for all tests that only read it."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import nbformat
import pytest

from thread_repair.report import batch, run
from thread_repair.report import jobs as jobs_
from thread_repair.report.build import Subject, build_report
from thread_repair.report.document import DocumentInfo

from .typed import Typed

TOY = Path(__file__).parent / "fixtures" / "toy.ipynb"

#: Text that would run, load, break out or reorder in one format or another.
HOSTILE = (
    '<script>alert(1)</script> #read("/etc/passwd") $x$ $$y$$ |a|b| \'q\' "q" \\ \\alpha '
    "`code` ![](http://127.0.0.1/x.png) [text](javascript:alert(1)) *em* _em_ ~~s~~ ^2^ "
    "@fig:none @word [^1] {#id .class} ::: --- # #let <!-- --> &lt; &#60; {=typst} %s {0} // /* */"
)


@pytest.fixture
def typed(tmp_path_factory):
    """Return a function that starts `report` with these arguments in a process of its own."""

    def start(*arguments, **how):
        return Typed(tmp_path_factory.mktemp("typed"), *arguments, **how)

    return start


@pytest.fixture
def at_once(monkeypatch):
    """Have cells run in this process, and cases built one after the other in it.

    For tests of what becomes of files; how a kernel and a process do it is tested on its own.
    """

    def execute(notebook, parameters, folder, *, progress=None, meanwhile=dict):
        meanwhile()
        node, names = nbformat.read(notebook, as_version=4), {}
        with contextlib.chdir(folder):
            for cell in (each for each in node.cells if each.cell_type == "code"):
                said = io.StringIO()
                with contextlib.redirect_stdout(said):
                    exec(cell.source, names)
                if said.getvalue():
                    cell.outputs = [nbformat.v4.new_output("stream", text=said.getvalue())]
                if "parameters" in cell.metadata.get("tags", ()):
                    names |= parameters
        return node

    monkeypatch.setattr(run, "execute", execute)
    monkeypatch.setattr(batch, "_in_processes", lambda jobs, workers: map(jobs_.build, jobs))


def published(*, parameters, document, results=None, **how):
    """Build a report of parameters by name and of results."""
    subject = Subject(handed=parameters, document=document, numbers=lambda: dict(results or {}))
    return build_report(subject, **how)


LEAVES = f"""__import__("pathlib").Path({run.LEFT!r}).write_text('{{"reliability": {{}}}}')"""


@pytest.fixture(scope="session")
def toy() -> Path:
    return TOY


@pytest.fixture(scope="session")
def plain(tmp_path_factory) -> Path:
    """The least notebook that makes a report: a title and a line.

    It leaves probabilities, as one does that has sampled them: else they are sampled for its results.
    """
    from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook

    cells = [
        new_markdown_cell("# Plain"),
        new_code_cell('title = "x"', metadata={"tags": ["parameters"]}),
        new_code_cell(f"{LEAVES}\nprint(title)"),
    ]
    file = tmp_path_factory.mktemp("plain") / "plain.ipynb"
    nbformat.write(new_notebook(cells=cells), file)
    return file


@pytest.fixture(scope="session")
def info() -> DocumentInfo:
    return DocumentInfo(
        title="Toy cover, four studs M8",
        document="TOY-0001",
        revision="B",
        customer="An invented works",
        prepared_by="A. Writer",
    )


@pytest.fixture(scope="session")
def built(tmp_path_factory, toy, info):
    return published(
        notebook=toy,
        parameters={"title": "Toy cover"},
        out_dir=tmp_path_factory.mktemp("toy"),
        document=info,
        results={"comparison": {"pull_out_ratio": 1.203, "none": float("nan")}},
    )
