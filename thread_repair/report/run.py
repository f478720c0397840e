"""Execute a notebook with papermill, from top to bottom, and keep nothing that differs by run."""

from __future__ import annotations

import ast
import logging
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .. import errors
from ..errors import InputError, ReportError
from . import kernel
from .flatten import place

if TYPE_CHECKING:
    from jupyter_client.manager import AsyncKernelManager
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
    import papermill  # noqa: F401  # takes long, and a forked kernel is waited for

    # A fault is raised, and told in one sentence: what papermill logs of it would stand beside it.
    logging.getLogger("papermill").addHandler(logging.NullHandler())
    with kernel.started(folder) as manager:
        done = kernel.in_a_thread(
            manager, lambda: _run(node, parameters, manager, progress), meanwhile
        )
    _refuse_stderr(done)
    return _without_clock(done)


def _run(
    node: NotebookNode,
    parameters: Mapping[str, object],
    manager: AsyncKernelManager,
    progress: Callable[[str], None] | None,
) -> NotebookNode:
    import papermill
    from nbclient.exceptions import CellTimeoutError, DeadKernelError

    from .notebook_format import nbformat

    # papermill adds one cell that holds the parameters.
    code_cells = sum(cell.cell_type == "code" for cell in node.cells) + bool(parameters)
    started = 0
    node.cells.append(nbformat.v4.new_code_cell(_LEAVE))

    def announce(cell: Mapping[str, Any], cell_index: int) -> None:
        nonlocal started
        if cell["cell_type"] == "code" and progress is not None and started < code_cells:
            started += 1  # the cell after the last is ours
            progress(f"run the notebook, cell {started} of {code_cells}")

    try:
        done: NotebookNode = papermill.execute_notebook(
            node,
            None,
            parameters=dict(parameters),
            progress_bar=False,
            km=manager,
            execution_timeout=CELL_TIMEOUT,
            record_timing=False,
            on_cell_start=announce,
        )
        done.cells.pop()
        return done
    except papermill.PapermillExecutionError as error:
        raise _cell_failure(node, error) from None
    except CellTimeoutError:
        raise ReportError(f"a cell of the notebook ran longer than {CELL_TIMEOUT} s") from None
    except DeadKernelError:
        raise ReportError.of("kernel_ended") from None
    except RuntimeError as error:
        raise ReportError(f"the notebook could not be run: {_one_line(error)}") from None


def _cell_failure(node: NotebookNode, error: Any) -> errors.ThreadRepairError:
    """Turn a failed cell into one sentence; a fault of the case stays an InputError."""
    text = _one_line(error.evalue) if error.evalue else "no message"
    kind = getattr(errors, str(error.ename), None)
    if isinstance(kind, type) and issubclass(kind, (InputError, errors.ValidityError)):
        return InputError(str(error.evalue))
    # papermill counts with the cell it injected, right after the parameters cell.
    index = min(int(error.cell_index), len(node.cells) - 1)
    source = str(error.source)
    for position, cell in enumerate(node.cells):
        if cell.cell_type == "code" and cell.source == source:
            index = position
    return ReportError(f"{place(node, index)} failed: {error.ename}: {text}")


def _refuse_stderr(node: NotebookNode) -> None:
    """Refuse a warning: a report must not be handed out with one that nobody saw."""
    for index, cell in enumerate(node.cells):
        for output in cell.get("outputs", ()):
            if output.output_type != "stream" or output.name != "stderr":
                continue
            lines = [x for x in output.text.splitlines() if x.strip() and not _CHATTER.search(x)]
            if lines:
                # The file that IPython names is one of its own making.
                said = re.sub(r"^\S*ipykernel_\S*?:\d+: ", "", lines[0])
                raise ReportError(f"{place(node, index)} gave a warning: {_one_line(said)}")


def _without_clock(node: NotebookNode) -> NotebookNode:
    """Drop what differs from run to run: times, random ids, paths."""
    node.metadata.pop("papermill", None)
    for number, cell in enumerate(node.cells):
        cell.metadata.pop("papermill", None)
        cell.metadata.pop("execution", None)
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
