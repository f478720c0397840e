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

import contextlib
import hashlib
import os
import re
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import nbformat
from nbformat import NotebookNode

from .. import files, sheets
from ..errors import InputError, ReportError, looked_up, shown
from . import texts
from .draws import draw
from .exercises import ASKS, DATA, Paper, given_away, master, random_seed, strong

#: The key stands in a folder of its own, so that nobody hands it out with the copy.
STUDENT, KEY_NOTEBOOK, KEY = "students/exercises.ipynb", "teacher/key.ipynb", "teacher/key.json"
TAGS = ("parameters", "master", "answer", "rubric", "mark", "page")
_MARK = (
    "from thread_repair.teaching import marking\n\n"
    '# Without the key file only the units are checked.\nmarking.mark(globals(), key="key.json")'
)


def write(seed: int | None, out: Path) -> tuple[Path, ...]:
    """Write the student copy, the key notebook and the key file into a new folder.

    Parameters
    ----------
    seed : of the paper; None for a random one
    out : folder to make; an empty one may stand there

    Returns
    -------
    tuple of Path

    Raises
    ------
    InputError
        If the seed can be guessed, something stands in the folder, or it cannot be written: then
        nothing is left in it.
    """
    made = _random(master()) if seed is None else _made(strong(seed), master())
    return put(dict(zip((STUDENT, KEY_NOTEBOOK, KEY), made, strict=True)), out)


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
    columns = [i for i, each in enumerate(sheet.header) if each.casefold() == "name"]
    if len(columns) != 1 or sheet.faults:
        fault = f"{sheet.faults[0]}" if sheet.faults else "expected one column with the header name"
        raise InputError(f"{names.name}: {fault}")
    notebook, texts, seen = master(), dict[str, str](), set[str]()
    for row, name in sheet.cells[columns[0]].str.strip().str.normalize("NFC").items():
        if not name or name.casefold() in seen:
            what = f"the name {shown(name)} stands there twice" if name else "the name is missing"
            what += "; tell two people of one name apart, as by a number" if name else ""
            raise InputError(f"{names.name}, row {row}: {what}")
        seen.add(name.casefold())
        plain = re.sub(r"\W+", "-", name).strip("-")[:60]
        file = f"{len(seen):03d}-{plain}"
        places = (f"copies/{file}.ipynb", f"keys/{file}-key.ipynb", f"keys/{file}.json")
        texts |= zip(places, _random(notebook, name=name), strict=True)
    if not texts:
        raise InputError(f"{names.name}: no names are in it")
    return put(texts, out)


def _random(notebook: NotebookNode, *, name: str = "") -> tuple[str, str, str]:
    """Return the texts of a random seed: of another one where a number would give an answer away.

    One seed in some thousands does; that three in a row do is a fault of the notebook.
    """
    for _ in range(2):
        with contextlib.suppress(ReportError):
            return _made(random_seed(), notebook, name=name)
    return _made(random_seed(), notebook, name=name)


def _made(seed: int, notebook: NotebookNode, *, name: str = "") -> tuple[str, str, str]:
    """Return the student copy, the key as a notebook and the key file of a seed."""
    paper = draw(seed)
    both = student_copy(notebook, paper, name=name), key_copy(notebook, paper)
    student, key = (nbformat.writes(each) + "\n" for each in both)
    return student, key, paper.key_text(number_of(notebook, paper))


def put(texts: Mapping[str, str], out: Path) -> tuple[Path, ...]:
    """Write files into a folder that is new or empty: all of them or none.

    Raises
    ------
    InputError
    """
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise InputError(f"{out} exists and is not an empty folder; give another")
    with files.writing(out):
        out.parent.mkdir(parents=True, exist_ok=True)
        # What has taken its place is no longer there to be cleaned up.
        with TemporaryDirectory(
            prefix=f".{out.name}-", dir=out.parent, ignore_cleanup_errors=True
        ) as build:
            for name, text in texts.items():
                file = Path(build, name)
                file.parent.mkdir(exist_ok=True)
                file.write_text(text, "utf-8")
            Path(build).chmod(0o755)
            os.replace(build, out)
    return tuple(out / name for name in texts)


def number_of(notebook: NotebookNode, paper: Paper) -> str:
    """Return the number of the paper: a digest of the questions as the student reads them.

    In letters, because a digit in the student copy would be one that is not a question.
    """
    asked = [c for c in notebook.cells if c.cell_type == "markdown" and not _tag(c)]
    questions = "\n".join(paper.filled(cell.source) for cell in asked)
    digest = hashlib.sha256(questions.encode()).digest()
    return "".join(chr(ord("a") + byte % 26) for byte in digest[:8])


def student_copy(notebook: NotebookNode, paper: Paper, *, name: str = "") -> NotebookNode:
    """Return the copy for students.

    Raises
    ------
    ReportError
        If a number in it would give an answer away.
    """
    blank = {asked: f'""  # {DATA["example"][ask.dimension]}' for asked, ask in ASKS.items()}
    copy = _copy(notebook, paper, blank, name=name)
    near = given_away((cell.source for cell in copy.cells), paper)
    if near:
        raise ReportError.of("answer_given_away", paper=paper, near=", ".join(near))
    return copy


def key_copy(notebook: NotebookNode, paper: Paper) -> NotebookNode:
    """Return the key: the same paper with answers and rubrics."""
    right = {asked: f'"{paper.answer(asked) or "see the rubric"}"' for asked in ASKS}
    copy = _copy(notebook, paper, right, rubric=True)
    copy.cells[0].source += f"\n\n**Key, seed {paper.seed}. Not for students.**"
    return copy


def _copy(
    notebook: NotebookNode, paper: Paper, answers: Mapping[str, str], *, name: str = "",
    rubric: bool = False,
) -> NotebookNode:  # fmt: skip
    """Build a notebook from scratch, so that nothing but what is written here gets into it."""
    form: Any = nbformat.v4  # its functions carry no types
    # The name is quoted as Python would, so that it is never more than a text.
    quoted = repr(name) if name else '""'
    opening = f'paper = "{number_of(notebook, paper)}"\nname = {quoted}'
    cells = [form.new_code_cell(opening, metadata={"tags": ["answer"]}, id="paper")]
    for cell in notebook.cells:
        tag, kind, source, metadata = _tag(cell), cell.cell_type, cell.source, {}
        if tag in ("parameters", "master") or (tag == "rubric" and not rubric):
            continue
        if tag == "page":
            kind, source = "markdown", texts.markdown(_named(r'texts\.page\("([\w-]+)"\)', cell))
        elif tag == "answer":
            asked = _named(r"(\w+) = .*", cell)
            blank_or_right = looked_up("exercise", asked, answers)
            source, metadata = f"{asked} = {blank_or_right}", {"tags": ["answer"]}
        else:
            source = _MARK if tag == "mark" else paper.filled(source)
        make = form.new_markdown_cell if kind == "markdown" else form.new_code_cell
        # Letters: a student copy holds no number that is not a question.
        row, column = divmod(len(cells) - 1, 26)
        cells.append(make(source, metadata=metadata, id=f"cell-{chr(97 + row)}{chr(97 + column)}"))
    cells.insert(0, cells.pop(1))  # the title stands above the number of the paper
    return form.new_notebook(
        cells=cells, metadata={"kernelspec": dict(notebook.metadata.kernelspec)}
    )


def _tag(cell: NotebookNode) -> str:
    tags = [tag for tag in cell.metadata.get("tags", ()) if tag in TAGS]
    if cell.cell_type == "code" and len(tags) != 1:
        raise ReportError.of(
            "cell_without_tag",
            tags=", ".join(TAGS),
            cell=cell.source.splitlines()[0] if cell.source else "an empty cell",
        )
    return tags[0] if tags else ""


def _named(form: str, cell: NotebookNode) -> str:
    found = re.fullmatch(form, cell.source.strip(), re.DOTALL)
    if found is None:
        raise ReportError(f"a cell of the master must be of the form {form}: {cell.source}")
    return found[1]
