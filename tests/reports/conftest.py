"""The toy report, executed once for all tests that only read it."""

import ast
import contextlib
import io
import json
from pathlib import Path

import nbformat
import pytest
from IPython.core.formatters import DisplayFormatter
from matplotlib.figure import Figure

from tests.pdf_text import pages_of
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


def _shown(value):
    """What a cell that ends with a value puts out."""
    data, metadata = DisplayFormatter().format(value)
    return nbformat.v4.new_output("execute_result", data=data, metadata=metadata)


def _execute(notebook, parameters, folder, *, progress=None, meanwhile=dict):
    """Run the cells of a notebook here."""
    meanwhile()
    node, names = nbformat.read(notebook, as_version=4), {}
    with contextlib.chdir(folder):
        for cell in (each for each in node.cells if each.cell_type == "code"):
            body, said, last = ast.parse(cell.source), io.StringIO(), None
            if body.body and isinstance(body.body[-1], ast.Expr):
                last = compile(ast.Expression(body.body.pop().value), notebook.name, "eval")
            with contextlib.redirect_stdout(said):
                exec(compile(body, notebook.name, "exec"), names)
                value = last and eval(last, names)
            said = said.getvalue()
            cell.outputs = [nbformat.v4.new_output("stream", text=said)] if said else []
            if value is not None:
                cell.outputs.append(_shown(value))
            if "parameters" in cell.metadata.get("tags", ()):
                names |= parameters
        exec(run._LEAVE, names)
    return node


@contextlib.contextmanager
def in_this_process(*, pictures=True):
    """Have cells run in this process, and cases built one after the other in it.

    For tests of what becomes of files, or of what is printed; how a kernel and a process do it is
    tested on its own. Without `pictures` figures are blank: to draw them takes longer than all
    else.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(run, "execute", _execute)
        patch.setattr(batch, "_in_processes", lambda jobs, workers: map(jobs_.build, jobs))
        if not pictures:
            patch.setattr(Figure, "savefig", _blank)
        yield


def _blank(figure, file, **_):
    """Save a picture of a figure's size with nothing on it."""
    width, height = 72 * figure.get_size_inches()
    file.write(f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}pt" height="{height}pt"/>')


@pytest.fixture(scope="session")
def shipped_pages(shared, shipped_report):
    """Return a function: the text of each page of a shipped PDF, read once for all test processes."""

    def pages(notebook, case="demo-rig-plate"):
        file = shipped_report(notebook, case) / f"{notebook}.pdf"
        with shared(f"{notebook}-pages") as place:
            kept = place / "pages.json"
            if not kept.exists():
                kept.write_text(json.dumps(pages_of(file)))
            return json.loads(kept.read_text())

    return pages


@pytest.fixture
def at_once():
    """Have what a test builds built in this process."""
    with in_this_process():
        yield


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
