"""Which cases a command line means: files, folders of them, and tables with one case a row."""

import os
import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from .. import case, sheets
from ..case.part_file import FILE, of_cases
from ..errors import InputError, InputErrors, message
from ..files import below
from .jobs import Job, notebook_path

CASE = "case.yaml"

#: Suffixes of a table with one case a row.
TABLES = (".csv", ".tsv", ".xlsx", ".xlsm")

#: Column of a table that names the folder of a row's report.
NAME = "name"

# What some system forbids, takes for a device, or cannot copy; and the names of the index.
_BAD_NAME = re.compile(
    r'[/\\:*?"<>|\x00-\x1f\x7f]|^\.|[. ]$|^\s*$'
    r"|^(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])(\.|$)|^index\.(html|csv)$",
    re.IGNORECASE,
)
#: In bytes; on most disks a name may have 255, but the whole path on some only 260 letters.
_LONGEST_NAME = 80


def select(
    chosen: Sequence[Path],
    *,
    notebook: str | Path = "",
    formats: tuple[str, ...],
    out: Path | None = None,
    again: bool = False,
    as_one: bool = False,
) -> tuple[Job, ...]:
    """Return a job for every case, in the order given.

    Parameters
    ----------
    chosen : sequence of Path
        A case file; a folder that holds `case.yaml`; a folder below which such files stand; a file
        `submission.yaml` of a part with many holes, or its folder; or a
        CSV table whose header names keys of a case, one row one case, with an optional column
        `name`.
    notebook : Path or str
        A notebook or its name; empty: that of the kind of each job.
    formats : tuple of {"pdf", "html", "docx"}
    out : Path, optional
        Reports go into a folder of the case's name in it. Without it they stand beside their
        case; those of a table in a folder of the table's name, beside it.
    again : bool
        Build also what is finished and unchanged.
    as_one : bool
        Make one document of all cases below a folder: the holes of one part.

    Raises
    ------
    InputError
        If a folder holds no case, a table cannot be read, two reports would share a folder, or
        `out` is a file.
    """
    if out is not None and os.path.isfile(out):  # of a name too long it says no
        raise InputError(f"--out: {out} is no folder; expected one, or a new name")
    jobs = [
        replace(job, notebook=_notebook(str(notebook), job), formats=formats, again=again)
        for path in chosen
        for job in (_part(path, out) if as_one else _jobs(path, out))
    ]
    taken: dict[str, Job] = {}
    for job in jobs:
        place = _seen(os.path.realpath(job.out))
        if place in taken and taken[place].case != job.case:
            raise InputError.of("reports_in_one_folder", first=taken[place].case, job=job)
        if place in taken:
            raise InputError(f"the report of {job.case} is asked for twice, for {job.out}")
        taken[place] = job
    return tuple(jobs)


def _notebook(name: str, job: Job) -> Path:
    return notebook_path(name or ("submission" if job.is_part else "repair_justification"))


def _part(path: Path, out: Path | None) -> Iterator[Job]:
    """Yield the one job of all cases of a folder, or of its file of a part."""
    if (path / FILE).is_file() or path.name == FILE:
        yield from _jobs(path, out)
        return
    if not path.is_dir():
        raise InputError(f"--as-one: {path} is no folder; expected one with cases below it")
    files = [path / CASE] if (path / CASE).exists() else _below(path)
    names = ["-".join(file.parent.relative_to(path).parts) or path.resolve().name for file in files]
    for name in names:
        if (count := names.count(name)) > 1:
            raise InputError.of("holes_of_one_name", count=count, path=path, name=name)
    place = path if out is None else out / path.resolve().name
    yield Job(case=path, out=place, name=str(path), holes=dict(zip(names, files, strict=True)))


def _seen(name: str) -> str:
    """Return what a disk makes of a name that tells neither case nor Unicode forms apart."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())


def folder_of(chosen: Path) -> Path:
    """Return the folder below which the reports of a chosen folder or table stand."""
    is_table = chosen.suffix.casefold() in TABLES and not chosen.is_dir()
    return chosen.with_suffix("") if is_table else chosen


def _jobs(path: Path, out: Path | None) -> Iterator[Job]:
    if (folder := folder_of(path)) != path:
        yield from _rows(path, folder if out is None else out)
        return
    own = next((each for each in (path / FILE, path / CASE) if each.exists()), path)
    several = _below(path) if own.is_dir() else []
    for file in several or [own]:
        beside = case.folder(file)
        within = beside.relative_to(path) if several else Path(beside.resolve().name)
        name = str(within) if several else str(path)
        yield Job(case=file, out=beside if out is None else out / within, name=name)


def _below(folder: Path) -> list[Path]:
    """Return every case file below a folder; hidden folders are not looked into."""
    found = sorted(below(folder, CASE), key=_counted)
    if not found:
        raise InputError(f"no {CASE} in {folder} or below it")
    return found


def _counted(path: Path) -> tuple[object, ...]:
    """Return what sorts a path as a person counts: H2 before H10."""
    pieces = (re.split("([0-9]+)", part) for part in path.parts)
    return [[int(x) if at % 2 else x for at, x in enumerate(each)] for each in pieces], path


def _rows(file: Path, folder: Path) -> Iterator[Job]:
    sheet = of_cases(sheets.read(file), file, NAME)
    faults = [f"{file}: {fault}" for fault in sheet.faults]
    jobs, names = [], set()
    for row, cells in sheet.records:
        # An unnamed case is known by its place below the header.
        name = cells.pop(NAME, f"row-{row - sheet.header_row:04d}").strip()
        if _BAD_NAME.search(name) or len(name.encode()) > _LONGEST_NAME:
            place = f"{file}: row {row}"
            faults.append(message("no_folder", place=place, name=name[:60], most=_LONGEST_NAME))
        elif _seen(name) in names:
            faults.append(f"{file}: row {row}: the name {name!r} is given to an earlier row")
        names.add(_seen(name))
        jobs.append(Job(case=file, out=folder / name, name=name, row=cells))
    if faults:
        raise InputErrors(faults)
    if not jobs:
        raise InputError(f"{file}: expected a header that names keys, and one row a case")
    yield from jobs
