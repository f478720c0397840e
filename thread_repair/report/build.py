"""One case and one notebook to a published report."""

import hashlib
import json
import re
import shutil
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from types import MappingProxyType
from typing import Any

from .. import program
from ..errors import InputError, ReportError
from . import consistency, escape, flatten, publish, render, run
from .document import DocumentInfo
from .figure import METADATA
from .paths import finite

RESULTS = "results.json"
#: Folder beside the running notebook that holds the files of the case.
FILES = "case"

_STAGES = 4

#: By these parameters a notebook of several holes is told from one of one.
_OF_A_PART = ("shared", "holes")

Documents = Mapping[str, Path]


@dataclass(frozen=True, kw_only=True)
class Subject:
    """What a document is about.

    Attributes
    ----------
    handed : parameters by name, of which a notebook gets those that it declares, and with `files`
        the folder of them
    document : words of the title block
    files : files that the case names, by name; the notebook reads copies in its folder `FILES`, so
        that no path of this machine enters the report
    numbers : gives what results.json holds, while the notebook runs
    more : gives what it holds besides and takes longer to compute, where the notebook left nothing
    contradictions : given what results.json holds, the Markdown and the documents, yields each
    """

    handed: Mapping[str, object]
    document: DocumentInfo
    files: Mapping[str, Path] = field(default_factory=dict)
    numbers: Callable[[], dict[str, Any]] = dict
    more: Callable[[], dict[str, Any]] = dict
    contradictions: Callable[[Mapping[str, Any], str, Documents], Iterable[str]] = lambda *_: ()

    @cached_property
    def state(self) -> str:
        """SHA-256 of all that the files of a report depend on, besides its notebook."""
        files = [(name, _digest(file)) for name, file in sorted(self.files.items())]
        data = [self.handed, self.document.as_data(), files, program.digest()]
        return hashlib.sha256(json.dumps(data, sort_keys=True).encode()).hexdigest()

    def parameters(self, notebook: Path) -> dict[str, object]:
        """Return what a notebook declares of it, in the notebook's order.

        Raises
        ------
        InputError
            If the notebook is about something else: it would show its demonstration.
        """
        declared = run.declared_parameters(notebook)
        for name in _OF_A_PART:
            if name in self.handed and name not in declared:
                raise InputError.of("notebook_of_one_hole", notebook=notebook, name=name)
            if name in declared and name not in self.handed:
                raise InputError.of("notebook_of_part", notebook=notebook)
        # A notebook that names no folder still finds the files that the case names.
        folder = ("case_folder",) if self.files else ()
        return {key: self.handed[key] for key in (*declared, *folder) if key in self.handed}


def _digest(file: Path) -> str:
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except OSError as error:
        raise ReportError(f"{file} cannot be read: {error.strerror}") from None


def build_report(
    subject: Subject,
    *,
    notebook: Path,
    out_dir: Path,
    formats: Sequence[str] = ("pdf", "html", "docx"),
    progress: Callable[[str], None] | None = None,
    made_from: Mapping[str, str] = MappingProxyType({}),
) -> publish.Published:
    """Execute a notebook and publish it as documents, all of them or none.

    Parameters
    ----------
    subject : Subject
    notebook : Path
        Has one cell tagged `parameters`; is not changed.
    out_dir : Path
        Folder of the report, made if it does not exist. The files are named after the notebook;
        those of other notebooks and formats stay, unless they were made from something else.
    formats : sequence of {"pdf", "html", "docx"}
        Which documents to make.
    progress : callable, optional
        Called with a line of text at each stage, and with "" at the end.
    made_from : mapping, optional
        Names of more that is written down of where the files come from.

    Returns
    -------
    Published
        Where the files are: the formats asked for, "notebook" and "results"; and what the results
        hold.

    Raises
    ------
    ReportError, InputError
        In one sentence; the folder then holds what it held before.
    """
    say = progress or (lambda line: None)

    def stage(number: int, text: str) -> None:
        say(f"[{number}/{_STAGES}] {text}")

    numbers: dict[str, Any] = {}
    document, parameters = subject.document, subject.parameters(notebook)
    try:
        render.check_formats(formats)
        names = file_names(notebook, formats)
        own = names["notebook"]
        if notebook.exists() and (out_dir / own).exists() and notebook.samefile(out_dir / own):
            raise InputError.of("report_over_notebook", own=own)
        with publish.workspace(out_dir) as build:
            stage(1, "start the notebook")
            for name, file in subject.files.items():
                copy = build / FILES / name
                copy.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(file, copy)
            node = run.execute(
                notebook,
                parameters,
                build,
                progress=lambda text: stage(2, text),
                meanwhile=lambda: numbers.update(subject.numbers()),
            )
            left = build / run.LEFT
            numbers |= json.loads(left.read_bytes()) if left.exists() else subject.more()
            document = replace(document, layout=asked(node).get("layout") or document.layout)
            stage(3, f"write {', '.join(formats)}")
            markdown = flatten.flatten(node, build)
            if document.layout == "report":  # a sheet names the version at the foot of each page
                markdown = with_program(markdown, escape.markdown(program.sentence()))
            files = render.render(markdown, document, build, formats)
            for kind, file in files.items():
                render.check(kind, file)
            # what teaches and concludes nothing may leave out a part of the case
            teaches = asked(node).get("about") == "teaching" and "{.conclusion ." not in markdown
            told = "" if teaches else markdown
            consistency.check(subject.contradictions(numbers, told, files))
            stage(4, "publish")
            for kind, file in files.items():
                file.rename(build / names[kind])
            run.write_notebook(node, build / own)
            text = results_text({**numbers, "made_with": dict(program.packages())})
            # half a surrogate pair as the escape that JSON writes for it
            (build / RESULTS).write_bytes(text.encode("utf-8", "backslashreplace"))
            sets = sets_of(notebook, {publish.CASE: subject.state, **made_from})
            published = publish.publish(build, names, out_dir, made_from=sets)
            return replace(published, numbers=numbers)
    finally:
        say("")


def terminal_progress(*, always: bool = False) -> Callable[[str], None]:
    """Return a function that shows one line, each over the one before, if somebody watches.

    On standard error, so that standard output stays clean.

    Parameters
    ----------
    always : bool
        Write plain lines even where the stream is no terminal.
    """
    target = sys.stderr

    def show(line: str) -> None:
        if target.isatty():
            target.write(f"\r\x1b[2K{line}")
        elif always and line:
            target.write(f"{line}\n")
        target.flush()

    return show


def file_names(notebook: Path, formats: Sequence[str]) -> dict[str, str]:
    """Return the names of a report's files, its documents all after its notebook."""
    named = {kind: f"{notebook.stem}.{kind}" for kind in formats}
    return {**named, "notebook": f"{notebook.stem}.ipynb", "results": RESULTS}


def sets_of(notebook: Path, made_from: Mapping[str, str]) -> dict[str, Mapping[str, str]]:
    """Return what each base name of a report's files depends on, for `publish`.

    The results are those of the case, whichever notebook shows them.
    """
    digest = hashlib.sha256(notebook.read_bytes()).hexdigest()
    of_documents = {**made_from, "notebook_sha256": digest}
    return {Path(RESULTS).stem: made_from, notebook.stem: of_documents}


def asked(node: Mapping[str, Any]) -> Mapping[str, str]:
    """Return what a notebook says of itself in its metadata: its `layout`, what it is `about`."""
    return node["metadata"].get(METADATA, {})


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
