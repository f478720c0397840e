"""Make the student copy, the key and the key file of a seed from the one master notebook.

A cell of the master says by its tag what becomes of it. The student copy is put together from the
words and from empty answers only: no answer, seed or output of the master is ever written into it.

    parameters, master   left out of the student copy
    answer               an empty answer in the student copy
    rubric               left out of the student copy
    mark                 marks against the key file in the student copy
    page                 becomes the words of the page that it shows
    (no tag)             kept; `«name»` in words is replaced by the drawn value
"""

from __future__ import annotations

import ast
import os
import re
import shutil
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .. import sheets
from ..errors import InputError, ReportError, shown
from . import texts
from .draws import draw
from .exercises import (
    ASKS,
    EXAMPLES,
    Paper,
    given_away,
    paper_number,
    random_seed,
    strong,
)

if TYPE_CHECKING:
    from nbformat import NotebookNode

MASTER = "class_exercises"
#: The key stands in a folder of its own, so that nobody hands it out with the copy.
STUDENT, KEY_NOTEBOOK, KEY = "students/exercises.ipynb", "teacher/key.ipynb", "teacher/key.json"
TAGS = ("parameters", "master", "answer", "rubric", "mark", "page")
_MARK = (
    "from thread_repair.teaching import marking\n\n"
    '# Without the key file only the units are checked.\nmarking.mark(globals(), key="key.json")'
)


def write(seed: int, out: Path, *, master: Path | None = None) -> tuple[Path, ...]:
    """Write the student copy, the key notebook and the key file into a new folder.

    Parameters
    ----------
    seed : int
    out : folder to make; an empty one may stand there
    master : notebook, by default `notebooks/class_exercises.ipynb`

    Returns
    -------
    tuple of Path

    Raises
    ------
    InputError
        If the seed can be guessed, something stands in the folder, or it cannot be written: then
        nothing is left in it.
    """
    copy, notebook, key = _made(strong(seed), _master(master))
    return put({STUDENT: copy, KEY_NOTEBOOK: notebook, KEY: key}, out)


def write_class(names: Path, out: Path) -> tuple[Path, ...]:
    """Write a copy and a key for each name, each with a random seed of its own, in two folders.

    Parameters
    ----------
    names : a table with the column `name`
    out : folder to make

    Raises
    ------
    InputError
        If a name is missing or stands there twice, or as `write`.
    """
    sheet = sheets.read(names)
    columns = [i for i, each in enumerate(sheet.header) if each.strip().casefold() == "name"]
    if len(columns) != 1 or sheet.faults:
        fault = f"{sheet.faults[0]}" if sheet.faults else "expected one column with the header name"
        raise InputError(f"{names.name}: {fault}")
    master = _master(None)
    texts: dict[str, str] = {}
    seen: set[str] = set()
    for row, cell in sheet.cells[columns[0]].items():
        name = str(cell).strip()
        if not name or name.casefold() in seen:
            what = f"the name {shown(name)} stands there twice" if name else "the name is missing"
            raise InputError(f"{names.name}, row {row}: {what}")
        seen.add(name.casefold())
        copy, notebook, key = _made(random_seed(), master, name=name)
        plain = re.sub(r"[^\w]+", "-", name).strip("-")[:60]
        file = f"{len(seen):03d}-{plain}"
        texts |= {
            f"copies/{file}.ipynb": copy,
            f"keys/{file}-key.ipynb": notebook,
            f"keys/{file}.json": key,
        }
    if not texts:
        raise InputError(f"{names.name}: no names are in it")
    return put(texts, out)


def _master(path: Path | None) -> NotebookNode:
    import nbformat

    from ..report.batch import notebook_path

    found: NotebookNode = nbformat.read(path or notebook_path(MASTER), as_version=4)
    return found


def _made(seed: int, master: NotebookNode, *, name: str = "") -> tuple[str, str, str]:
    """Return the student copy, the key as a notebook and the key file of a seed."""
    import nbformat

    paper = draw(seed)
    student, key = student_copy(master, paper), key_copy(master, paper)
    if name:  # quoted as Python would, so that a name is never more than a text
        opening = next(cell for cell in student.cells if cell.id == "paper")
        opening.source = opening.source.replace('name = ""', f"name = {name!r}")
    number = number_of(master, paper)
    return nbformat.writes(student) + "\n", nbformat.writes(key) + "\n", paper.key_text(number)


def put(texts: Mapping[str, str], out: Path) -> tuple[Path, ...]:
    """Write files into a folder that is new or empty: all of them or none.

    Raises
    ------
    InputError
    """
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise InputError(f"{out} exists and is not an empty folder; give another")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        build = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
        try:
            for name, text in texts.items():
                (build / name).parent.mkdir(exist_ok=True)
                (build / name).write_text(text, "utf-8")
            build.chmod(0o755)
            os.replace(build, out)
        finally:
            shutil.rmtree(build, ignore_errors=True)
    except OSError as error:
        raise InputError(f"{out} cannot be written: {error.strerror}") from None
    return tuple(out / name for name in texts)


def number_of(notebook: NotebookNode, paper: Paper) -> str:
    """Return the number of the paper: a digest of the questions as the student reads them."""
    return paper_number("\n".join(_questions(notebook, paper)))


def _questions(notebook: NotebookNode, paper: Paper) -> list[str]:
    return [
        paper.filled(cell.source)
        for cell in notebook.cells
        if cell.cell_type == "markdown" and not _tag(cell)
    ]


def student_copy(notebook: NotebookNode, paper: Paper) -> NotebookNode:
    """Return the copy for students.

    Raises
    ------
    ReportError
        If a number in it would give an answer away.
    """

    def answer(cell: NotebookNode) -> str:
        name = _answered(cell)
        return f'{name} = ""  # {EXAMPLES[ASKS[name].dimension]}'

    copy = _copy(notebook, paper, {"answer": answer, "mark": lambda _: _MARK})
    near = given_away((cell.source for cell in copy.cells), paper)
    if near:
        raise ReportError(
            f"seed {paper.seed}: a number in the student copy is near the answer to "
            f"{', '.join(near)}; take another seed"
        )
    return copy


def key_copy(notebook: NotebookNode, paper: Paper) -> NotebookNode:
    """Return the key: the same paper with answers and rubrics."""

    def answer(cell: NotebookNode) -> str:
        name = _answered(cell)
        if ASKS[name].dimension == "words":
            return f'{name} = "see the rubric"'
        return f'{name} = "{paper.answer(name)}"'

    keep = {"answer": answer, "mark": lambda _: _MARK, "rubric": lambda c: paper.filled(c.source)}
    copy = _copy(notebook, paper, keep)
    copy.cells[0].source += f"\n\n**Key, seed {paper.seed}. Not for students.**"
    return copy


def _copy(
    notebook: NotebookNode, paper: Paper, made: Mapping[str, Callable[[NotebookNode], str]]
) -> NotebookNode:
    """Build a notebook from scratch, so that nothing but what is written here gets into it."""
    from nbformat import v4

    form: Any = v4  # its functions carry no types
    cells: list[Any] = []
    for cell in notebook.cells:
        tag = _tag(cell)
        if tag == "page":
            cells.append(form.new_markdown_cell(_page(cell), id=_id(len(cells))))
            continue
        if tag and tag not in made:
            continue
        source = made[tag](cell) if tag else paper.filled(cell.source)
        make = form.new_markdown_cell if cell.cell_type == "markdown" else form.new_code_cell
        metadata = {"tags": ["answer"]} if tag == "answer" else {}
        cells.append(make(source, metadata=metadata, id=_id(len(cells))))
    number = number_of(notebook, paper)
    opening = form.new_code_cell(
        f'paper = "{number}"\nname = ""', metadata={"tags": ["answer"]}, id="paper"
    )
    kernel = {"kernelspec": dict(notebook.metadata.kernelspec)}
    found: NotebookNode = form.new_notebook(cells=[cells[0], opening, *cells[1:]], metadata=kernel)
    return found


def _tag(cell: NotebookNode) -> str:
    tags = [tag for tag in cell.metadata.get("tags", ()) if tag in TAGS]
    if cell.cell_type == "code" and len(tags) != 1:
        raise ReportError(
            f"a code cell of the master needs one of the tags {', '.join(TAGS)}: "
            f"{cell.source.splitlines()[0] if cell.source else 'an empty cell'}"
        )
    return tags[0] if tags else ""


def _id(number: int) -> str:
    """Return the id of a cell in letters: a student copy holds no number that is not a question."""
    return "cell-" + chr(ord("a") + number // 26) + chr(ord("a") + number % 26)


def _page(cell: NotebookNode) -> str:
    """Return the words of a page that a cell of the master shows: texts.page("name")."""
    call = ast.parse(cell.source, mode="eval").body
    if not isinstance(call, ast.Call) or len(call.args) != 1:
        raise ReportError(
            f"a page of the master must be of the form texts.page(name): {cell.source}"
        )
    return texts.markdown(ast.literal_eval(call.args[0]))


def _answered(cell: NotebookNode) -> str:
    """Return the exercise that an answer cell of the master answers."""
    line = ast.parse(cell.source).body[0]
    if not isinstance(line, ast.Assign) or not isinstance(line.targets[0], ast.Name):
        raise ReportError(f"an answer of the master must assign one name: {cell.source}")
    name = line.targets[0].id
    if name not in ASKS:
        raise ReportError(f"the master answers {name!r}, which is not an exercise")
    return name
