"""Case files that the form opens and saves, and the reports that it builds beside them."""

import base64
import mimetypes
import os
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from .. import case, files
from ..case.flat_yaml import flat
from ..case.reading import check_suffix, of_text, unknown_key
from ..errors import InputError, InputErrors, check_known
from ..report.escape import html
from ..report.jobs import Outcome, build, home, notebook_path
from ..report.run import declared_parameters
from ..report.selection import CASE, select

#: Where the command that opened the workbook was given; a name in the form is meant from there.
FOLDER = "THREAD_REPAIR_FOLDER"
#: The case that the command was given.
OPENED = "THREAD_REPAIR_CASE"
#: A notebook that hands on so many keys of a case is a report of it.
_REPORT_KEYS = 20
_COMMENT = re.compile(r"^\s*#|\s#", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """A case as it stands in a file: where, its text, and its entries that are not empty."""

    file: Path | None
    text: str
    entries: Mapping[str, str]

    @property
    def has_comments(self) -> bool:
        """Whether the file holds comments, which the form does not keep."""
        return _COMMENT.search(self.text) is not None


def place(name: str) -> Path:
    """Return the case file that a name means; a folder holds a `case.yaml`.

    Raises
    ------
    InputError
        If the name is empty.
    """
    if not name.strip():
        raise InputError.of("case_file_unnamed")
    file = _meant(name)
    return file if file.suffix in (".yaml", ".yml") else file / CASE


def _meant(name: str) -> Path:
    return (Path(os.environ.get(FOLDER, ".")) / Path(name.strip()).expanduser()).absolute()


def opened(name: str) -> Stored:
    """Read a case file for the form.

    Raises
    ------
    InputError
        If it cannot be read, or holds what the form could not save again.
    """
    file = place(name)
    if not os.path.isfile(file):
        case.load_text(_meant(name))  # which tells what stands there instead
    case.load_text(file)
    return _stored(file.read_text("utf-8"), file)


def uploaded(name: str, content: bytes) -> Stored:
    """Read the content of a case file that a browser has sent.

    Raises
    ------
    InputError
        As `opened`.
    """
    check_suffix(Path(name))
    try:
        text = content.decode("utf-8")
        of_text(text, Path(name))
        return _stored(text, None)
    except UnicodeDecodeError:
        raise InputError(f"{name}: not UTF-8 text") from None


def _stored(text: str, file: Path | None) -> Stored:
    found = flat(text)
    known = case.keys()
    unknown = [f"{key[:60]}: {unknown_key(key)}" for key in found.values if key not in known]
    if found.all_faults or unknown:
        raise InputErrors([*found.all_faults, *unknown])
    stated = {key: value for key, value in found.values.items() if value.strip()}
    return Stored(file=file, text=text, entries=stated)


def saved(name: str, entries: Mapping[str, str], before: Stored | None) -> Stored:
    """Write the entries as a case file, whole or not at all, in the order of the schema.

    A file that is there is replaced only if it is the one that was opened or saved last, nobody
    has changed it since, and the entries are others.

    Raises
    ------
    InputError
    """
    file = place(name)
    text = case.written(entries)
    with files.writing(file):
        if file.exists():
            if before is None or before.file != file:
                raise InputError(f"{file} exists already; open it first, or give another name")
            if file.read_text("utf-8") != before.text:
                raise InputError.of("changed_meanwhile", file=file)
            if before.entries == flat(text).values:
                return before
        with files.in_one_step(file) as draft:
            draft.write_text(text, "utf-8", newline="")
            draft.chmod(file.stat().st_mode & 0o777 if file.exists() else 0o644)
    return Stored(file=file, text=text, entries=flat(text).values)


def reports() -> tuple[str, ...]:
    """Return the notebooks that make a report of a case, by name."""
    found = sorted((home() / "notebooks").glob("*.ipynb"))
    return tuple(
        path.stem
        for path in found
        if len(set(declared_parameters(path)) & set(case.keys())) >= _REPORT_KEYS
    )


def built(file: Path, notebook: str, progress: Callable[[str], None]) -> Outcome:
    """Build a report beside its case.

    Raises
    ------
    InputError
        If there is no such notebook.
    """
    name = notebook.strip()
    if not name.endswith(".ipynb"):
        check_known("report", name, reports())
    (job,) = select([file], notebook=notebook_path(name), formats=("pdf", "html", "docx"))
    return build(job, progress)


def links(made: Iterable[Path]) -> str:
    """Return a list of files to take, as HTML; they are in the page, which needs no server."""
    items = ""
    for file in filter(Path.is_file, made):
        kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
        data = base64.b64encode(file.read_bytes()).decode("ascii")
        address = f"data:{kind};base64,{data}"
        items += f'<li><a download="{html(file.name)}" href="{address}">{html(file)}</a></li>'
    return items
