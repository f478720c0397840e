"""Execute a notebook with papermill, from top to bottom, and keep nothing that differs by run."""

from __future__ import annotations

import ast
import logging
import re
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING

from .. import errors
from ..errors import InputError, ReportError, ThreadRepairError
from . import kernel
from .flatten import place

if TYPE_CHECKING:
    from nbformat import NotebookNode

#: The file, in the folder of the notebook, that holds what only it computed: probabilities of a
#: case, or the verification of the program.
LEFT = "left.json"
#: Run after the last cell, and never shown.
_LEAVE = (
    "if 'study' in globals():\n    from thread_repair.report.results import leave; leave(study)"
)

#: Longest wait for one cell, in seconds: solving every tabled bound anew takes most of an hour of a
#: fast processor, and several of a slow one that does other work beside it.
CELL_TIMEOUT = 4 * 3600

# What libraries say on stderr that says nothing about the result.
_CHATTER = re.compile(
    r"Matplotlib is building the font cache|Matplotlib created a temporary cache directory|"
    r"mkdir -p failed for path|Debugger warning: It seems that frozen modules|"
    r"to python to disable frozen modules|Debugging will proceed|make the debugger miss breakpoints"
)


def declared_parameters(notebook: Path) -> tuple[str, ...]:
    """Return the names that the notebook's parameters cell assigns, in order.

    Raises
    ------
    ReportError
        If the notebook cannot be read or has no cell tagged `parameters`.
    """
    cells = [c for c in read_notebook(notebook).cells if "parameters" in c.metadata.get("tags", ())]
    name = notebook.name
    if len(cells) != 1:
        found = "no cell" if not cells else f"{len(cells)} cells"
        raise ReportError(f"notebook {name} has {found} tagged 'parameters'; expected one")
    try:
        body = ast.parse(cells[0].source).body
    except SyntaxError as error:
        raise ReportError(f"the parameters cell of {name} is not Python: {error.msg}") from None
    names: list[str] = []
    for statement in body:
        targets = getattr(statement, "targets", [getattr(statement, "target", None)])
        assigns = isinstance(statement, (ast.Assign, ast.AnnAssign))
        if not assigns or not all(isinstance(each, ast.Name) for each in targets):
            place = f"line {statement.lineno} of the parameters cell of {name}"
            raise ReportError(f"{place} must be of the form: name = value, with one plain name")
        names += (each.id for each in targets)
    return tuple(dict.fromkeys(names))


def read_notebook(notebook: Path) -> NotebookNode:
    """Read a notebook file; ReportError says in one sentence why that failed."""
    from .notebook_format import nbformat

    try:
        return nbformat.read(notebook, as_version=4)
    except FileNotFoundError:
        raise ReportError(f"no notebook at {notebook}") from None
    except OSError as error:
        raise ReportError(f"notebook {notebook} cannot be read: {error.strerror}") from None
    except Exception as error:
        raise ReportError(f"{notebook} is not a Jupyter notebook: {_one_line(error)}") from None


def execute(
    notebook: Path,
    parameters: Mapping[str, object],
    folder: Path,
    *,
    progress: Callable[[str], None] | None = None,
    meanwhile: Callable[[], object] = dict,
) -> NotebookNode:
    """Run a notebook from top to bottom with these parameters and return it with its outputs.

    Parameters
    ----------
    notebook : Path
        Read, never written.
    parameters : mapping
        Names that the cell tagged `parameters` declares (`declared_parameters`), and their texts.
    folder : Path
        Existing folder: the notebook's working directory.
    progress : callable, optional
        Called with a line of text before each code cell.
    meanwhile : callable, optional
        Called once while the kernel works.

    Raises
    ------
    ReportError
        If a cell fails, times out or writes on stderr, or the kernel dies.
    InputError
        If a cell fails because the case is wrong.
    """
    node = read_notebook(notebook)
    # The name in the file may stand for any interpreter, or for none on this machine.
    named = {"display_name": "Python 3", "language": "python", "name": "python3"}
    node.metadata["kernelspec"] = named
    import papermill

    # A fault is raised, and told in one sentence: what papermill logs of it would stand beside it.
    logging.getLogger("papermill").addHandler(logging.NullHandler())
    given = dict(parameters)
    node = papermill.execute_notebook(node, None, given, prepare_only=True, progress_bar=False)
    places = [n for n, cell in enumerate(node.cells) if cell.cell_type == "code"]
    sources = [node.cells[n].source for n in places] + [_LEAVE]
    with ThreadPoolExecutor(1) as pool, kernel.started(folder, sources) as told:
        done = pool.submit(_put_out, node, places, told, progress or (lambda line: None))
        meanwhile()
        done.result()
    return _without_clock(node)


def _put_out(
    node: NotebookNode, places: Sequence[int], told: Connection, say: Callable[[str], None]
) -> None:
    """Write into the cells what the kernel tells that they put out."""
    from .notebook_format import nbformat

    warning = ""
    for number, index in enumerate([*places, -1], start=1):
        if index >= 0:  # the cell after the last is ours
            say(f"run the notebook, cell {number} of {len(places)}")
        if not told.poll(CELL_TIMEOUT):
            raise ReportError(f"a cell of the notebook ran longer than {CELL_TIMEOUT} s")
        try:
            outputs, error, noise = told.recv()
        except EOFError:
            raise ReportError.of("kernel_ended") from None
        if error:
            raise _cell_failure(node, index, *error)
        if index >= 0:
            cell = node.cells[index]
            cell.execution_count = number
            cell.outputs = [nbformat.from_dict(each) for each in outputs]
        lines = [x for x in noise.splitlines() if x.strip() and not _CHATTER.search(x)]
        if lines and not warning:
            # The file that IPython names is one of its own making.
            said = re.sub(r"^<ipython-input-\S*?:\d+: ", "", lines[0])
            warning = f"{place(node, index)} gave a warning: {_one_line(said)}"
    if controls := told.recv():
        node.metadata.widgets = {"application/vnd.jupyter.widget-state+json": controls}
    if warning:  # a report must not be handed out with one that nobody saw
        raise ReportError(warning)


def _cell_failure(node: NotebookNode, index: int, name: str, said: str) -> ThreadRepairError:
    """Turn a failed cell into one sentence; a fault of the case stays an InputError."""
    kind = getattr(errors, name, None)
    if isinstance(kind, type) and issubclass(kind, (InputError, errors.ValidityError)):
        return InputError(said)
    return ReportError(f"{place(node, index)} failed: {name}: {_one_line(said) or 'no message'}")


def _without_clock(node: NotebookNode) -> NotebookNode:
    """Drop what differs from run to run: times, random ids, paths."""
    node.metadata.pop("papermill", None)
    for number, cell in enumerate(node.cells):
        cell.metadata.pop("papermill", None)
        cell.id = f"cell-{number}"
    return node


def write_notebook(node: NotebookNode, path: Path) -> None:
    """Write an executed notebook, the same bytes for the same content."""
    from .notebook_format import nbformat

    text = f"{nbformat.writes(node)}\n"
    path.write_bytes(text.encode("utf-8", "backslashreplace"))


def _one_line(error: object) -> str:
    line = " ".join(str(error).split())
    return line if len(line) <= 300 else line[:297] + "..."
