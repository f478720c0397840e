"""One case and one notebook to a published report."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, TextIO, TypeAlias

from .. import program
from ..errors import InputError, ReportError
from . import escape, flatten, publish, render, run
from .document import DocumentInfo
from .figure import METADATA
from .paths import finite
from .publish import Published

RESULTS = "results.json"
#: Folder beside the running notebook that holds the files of the case.
FILES = "case"

_STAGES = 4

Results: TypeAlias = Mapping[str, object] | Callable[[Mapping[str, object]], Mapping[str, object]]


def build_report(
    *,
    notebook: Path,
    parameters: Mapping[str, object],
    out_dir: Path,
    document: DocumentInfo,
    formats: Sequence[str] = ("pdf", "html", "docx"),
    results: Results | None = None,
    files: Mapping[str, Path] = MappingProxyType({}),
    progress: Callable[[str], None] | None = None,
    made_from: Mapping[str, str] | None = None,
    agree: Callable[[str, Mapping[str, Path]], None] | None = None,
    meanwhile: Callable[[], object] = dict,
) -> Published:
    """Execute a notebook and publish it as documents, all of them or none.

    Parameters
    ----------
    notebook : Path
        Has one cell tagged `parameters`; is not changed.
    parameters : mapping
        Names which that cell declares (`declared_parameters`) and plain values.
    out_dir : Path
        Folder of the report, made if it does not exist. The files are named after the notebook;
        those of other notebooks and formats stay, unless they were made from something else.
    document : DocumentInfo
        Words of the title block, the header and the footer.
    formats : sequence of {"pdf", "html", "docx"}
        Which documents to make.
    results : mapping or callable, optional
        What `results.json` holds, or a function that returns it from what the notebook left
        (`run.LEFT`), which is empty where it computed nothing that a case does not give.
    files : mapping of str to Path
        Files the notebook reads, by their name in its folder `FILES`: it is handed copies, so that
        no path of this machine enters the report. They are not published.
    progress : callable, optional
        Called with a line of text at each stage, and with "" at the end.
    made_from : mapping, optional
        Names and checksums that differ whenever other files would come out, `publish.CASE` among
        them; without it the checksum of the parameters and the document.
    agree : callable, optional
        Given the Markdown of the executed notebook and the documents by format; raises ReportError
        where they contradict each other or the case.
    meanwhile : callable, optional
        Called once while the notebook runs: what `agree` needs can be worked out then.

    Returns
    -------
    Published
        Where the files are: the formats asked for, "notebook", and "results" if given.

    Raises
    ------
    ReportError, InputError
        In one sentence; the folder then holds what it held before.
    """

    def stage(number: int, text: str) -> None:
        if progress is not None:
            progress(f"[{number}/{_STAGES}] {text}")

    notebook, out_dir = Path(notebook), Path(out_dir)
    try:
        render.check_formats(formats)
        own = file_names(notebook, formats)["notebook"]
        if notebook.exists() and (out_dir / own).exists() and notebook.samefile(out_dir / own):
            raise InputError(
                f"the report of {own} would replace the notebook itself, which stands in its "
                "folder; choose another folder with --out, or move the notebook"
            )
        with publish.workspace(out_dir) as build:
            stage(1, "start the notebook")
            for name, file in files.items():
                copy = build / FILES / name
                copy.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(file, copy)
            node = run.execute(
                notebook,
                parameters,
                build,
                progress=lambda text: stage(2, text),
                meanwhile=meanwhile,
            )
            left = build / run.LEFT
            found = json.loads(left.read_bytes()) if left.exists() else {}
            numbers = results(found) if callable(results) else results
            document = replace(document, layout=_layout(node) or document.layout)
            stage(3, f"write {', '.join(formats)}")
            markdown = flatten.flatten(node, build)
            if document.layout == "report":  # a sheet names the version at the foot of each page
                markdown = with_program(markdown, escape.markdown(program.sentence()))
            files = render.render(markdown, document, build, formats)
            for kind, file in files.items():
                render.check(kind, file)
            if agree is not None:
                agree(markdown, files)
            stage(4, "publish")
            names = file_names(notebook, formats)
            for kind, file in files.items():
                file.rename(build / names[kind])
            run.write_notebook(node, build / names["notebook"])
            made = {publish.CASE: inputs_checksum(parameters, document), **(made_from or {})}
            sets = sets_of(notebook, made)
            if numbers is not None:
                names["results"] = RESULTS
                (build / RESULTS).write_bytes(_bytes(results_text(numbers)))
            return publish.publish(build, names, out_dir, made_from=sets)
    finally:
        if progress is not None:
            progress("")


def terminal_progress(
    stream: TextIO | None = None, *, always: bool = False
) -> Callable[[str], None] | None:
    """Return a function that shows one line, each over the one before; None if nobody watches.

    Parameters
    ----------
    stream : text file, optional
        Standard error by default, so that standard output stays clean.
    always : bool
        Write plain lines even where the stream is no terminal.
    """
    target = sys.stderr if stream is None else stream
    watched = target.isatty()
    if not watched and not always:
        return None

    def show(line: str) -> None:
        if watched:
            target.write(f"\r\x1b[2K{line}" if line else "\r\x1b[2K")
        elif line:
            target.write(f"{line}\n")
        target.flush()

    return show


def file_names(notebook: Path, formats: Sequence[str]) -> dict[str, str]:
    """Return the names of a report's documents, all after its notebook."""
    return {kind: f"{notebook.stem}.{kind}" for kind in formats} | {
        "notebook": f"{notebook.stem}.ipynb"
    }


def sets_of(notebook: Path, made_from: Mapping[str, str]) -> dict[str, Mapping[str, str]]:
    """Return what each base name of a report's files depends on, for `publish`.

    The results are those of the case, whichever notebook shows them.
    """
    return {
        Path(RESULTS).stem: made_from,
        notebook.stem: {
            **made_from,
            "notebook_sha256": hashlib.sha256(notebook.read_bytes()).hexdigest(),
        },
    }


def _layout(node: Mapping[str, Any]) -> str:
    """Return the layout that a notebook asks for in its metadata, if it does."""
    return str(node["metadata"].get(METADATA, {}).get("layout", ""))


#: Under this heading a report says what made it, so that no last page holds that line alone.
_SOURCES = re.compile(r"^## (?:Appendix: )?sources\b.*$", re.IGNORECASE | re.MULTILINE)


def with_program(markdown: str, said: str) -> str:
    """Name what made a report where it names its sources, else at its end."""
    heading = _SOURCES.search(markdown)
    at = len(markdown) if heading is None else heading.end()
    return f"{markdown[:at]}\n\n{said}\n{markdown[at:]}"


def results_text(results: Mapping[str, object]) -> str:
    """Return the text of `results.json`: the same bytes for the same numbers.

    A number that a method does not give (NaN) becomes null, as JSON has no word for it.

    Examples
    --------
    >>> print(results_text({"ratio": 1.2, "margin": float("nan")}), end="")
    {
      "ratio": 1.2,
      "margin": null
    }
    """
    try:
        return json.dumps(finite(results), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    except TypeError as error:
        raise ReportError(f"results.json cannot hold a value: {error}") from None


def _bytes(text: str) -> bytes:
    """Encode, with half a surrogate pair as the escape that JSON writes for it."""
    return text.encode("utf-8", "backslashreplace")


def inputs_checksum(parameters: Mapping[str, object], document: DocumentInfo) -> str:
    """Return the SHA-256 of what a report is built from, besides notebook and program."""
    data = [dict(sorted(parameters.items())), document.as_data()]
    return hashlib.sha256(json.dumps(data, sort_keys=True, default=str).encode()).hexdigest()
