"""One report to build, in this process or in another."""

import contextlib
import json
import sys
import traceback
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from .. import case, errors
from ..case import part_file
from ..errors import InputError, ReportError, ThreadRepairError
from . import publish
from .build import RESULTS, Subject, build_report, file_names, sets_of
from .subjects import of_case, of_part, of_program

DEMO = "demo-rig-plate"

#: Where the package stands in its clone.
CLONE = Path(__file__).parents[2]

#: Key of the manifest that says which case of a folder a report is of.
_FILE = "case_file"


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One report to build: plain paths and words, so that it can be sent to another process.

    Parameters
    ----------
    case : Path
        The case file, or the table that holds the case as a row.
    row : mapping, optional
        Keys and values of a case that is a row of a table.
    holes : mapping, optional
        Name and case file of each hole, where `case` is the folder of a part.
    parameters : mapping, optional
        Of a notebook that is about the program; `case` is the notebook then.
    name : str
        What people call the case, in messages and in the index.
    notebook, out : Path
    formats : tuple of str
    again : bool
        Build although a finished report of the same inputs stands there.
    """

    case: Path
    row: Mapping[str, str] | None = None
    holes: Mapping[str, Path] | None = None
    parameters: Mapping[str, str] | None = None
    name: str
    notebook: Path = Path()
    out: Path
    formats: tuple[str, ...] = ()
    again: bool = False

    @property
    def is_part(self) -> bool:
        """Whether it is one document for all holes of a part."""
        return self.holes is not None or self.case.name == part_file.FILE

    @property
    def source(self) -> str:
        """Name of the file that it is built from, as far as one folder can hold several."""
        return self.case.name if self.holes is None else "cases"


@dataclass(frozen=True, kw_only=True)
class Outcome(publish.Published):
    """What became of one job: the published files, or the sentences that say why not."""

    job: Job
    #: The finished report stood there already.
    unchanged: bool = False
    faults: tuple[str, ...] = ()
    bad_input: bool = False
    #: Another command was building it.
    in_work: bool = False


def home() -> Path:
    """Return the folder that holds `notebooks/` and `reports/`: the clone, or what a wheel brings.

    Not the current folder: a notebook is a program, and runs from there only if it is named.

    Raises
    ------
    InputError
        If there is neither.
    """
    for folder in (CLONE, Path(sys.prefix) / "share" / "thread-repair"):
        if (folder / "notebooks").is_dir() and (folder / "reports").is_dir():
            return folder
    raise InputError.of("no_notebooks_folder", clone=CLONE)


def demo_case() -> Path:
    """Return the case of the shipped demonstration."""
    return home() / "reports" / DEMO / "case.yaml"


def notebook_path(name: str) -> Path:
    """Return a notebook of the package by its name, or any by its path.

    Raises
    ------
    InputError
        Naming the nearest known notebooks.
    """
    if name.endswith(".ipynb"):
        if not Path(name).is_file():
            raise InputError(f"no notebook at {name}")
        return Path(name)
    folder = home() / "notebooks"
    known = sorted(path.stem for path in folder.glob("*.ipynb"))
    errors.check_known("notebook", name, known)
    return folder / f"{name}.ipynb"


def build(job: Job, progress: Callable[[str], None] | None = None) -> Outcome:
    """Build one report. Everything that can be wrong with it ends in the outcome.

    `progress` is called with a line at each stage.
    """
    state = None  # not known while the input is not understood
    try:
        subject = _subject(job)
        state = subject.state
        return _build(job, subject, progress)
    except Exception as error:
        return _without_stale(_failed(job, error), state)


def _failed(job: Job, error: Exception) -> Outcome:
    bad_input = isinstance(error, (InputError, errors.ValidityError))
    in_work = isinstance(error, errors.BuildRunningError)
    return Outcome(job=job, faults=sentences(error), bad_input=bad_input, in_work=in_work)


def sentences(error: Exception) -> tuple[str, ...]:
    """Say what went wrong, a sentence for each fault."""
    if isinstance(error, ThreadRepairError):
        return tuple(str(error).splitlines())
    if isinstance(error, ModuleNotFoundError):
        return (str(errors.MissingPackageError(error.name)),)
    # a fault of ours: it must not take other reports or a screen with it, nor pass unseen
    last = traceback.extract_tb(error.__traceback__)[-1]
    place = f"{Path(last.filename).name} line {last.lineno}"
    return (f"a fault of the program, {place}: {type(error).__name__}: {error}",)


def _subject(job: Job) -> Subject:
    if job.parameters is not None:
        return of_program(job.parameters)
    if job.holes is not None:
        return of_part(part_file.from_cases(job.holes), job.case)
    if job.is_part:
        return of_part(part_file.load(job.case), job.case.parent)
    if job.row is not None:
        return of_case(case.read(job.row, folder=case.folder(job.case)))
    return of_case(case.load(job.case))


def _without_stale(outcome: Outcome, state: str | None) -> Outcome:
    """After a failed build, let no report that stands there look like one of the case as it is."""
    job = outcome.job
    if not job.case.exists() or _another_case(job):
        return outcome
    with contextlib.suppress(ThreadRepairError):  # what the build could not write either
        outdated, kept = publish.mark_outdated(job.out, state)
        return replace(outcome, outdated=outdated, kept=kept)
    return outcome


def _another_case(job: Job) -> str:
    """Return the name of the case file whose reports stand in the folder, if it is another."""
    found = (entry["made_from"].get(_FILE, "") for entry in publish.manifest(job.out).values())
    return next((name for name in found if name and name != job.source), "")


def _build(job: Job, subject: Subject, progress: Callable[[str], None] | None) -> Outcome:
    other = _another_case(job)
    if other and job.row is None:
        raise InputError.of("report_of_another", job=job, other=other)
    made_from = {_FILE: job.source}
    if not job.again and (standing := _standing(job, {publish.CASE: subject.state, **made_from})):
        return standing
    _not_issued(job, subject)
    published = build_report(
        subject,
        notebook=job.notebook,
        out_dir=job.out,
        formats=job.formats,
        progress=progress,
        made_from=made_from,
    )
    return Outcome(job=job, **vars(published))


def _not_issued(job: Job, subject: Subject) -> None:
    """Refuse a second content of an issued revision, by which its readers know what they hold."""
    document = subject.document
    for name in (RESULTS, f"results{publish.OUTDATED}.json"):
        try:
            said = json.loads((job.out / name).read_bytes())
            given, earlier = said.get("case", said), said["inputs_sha256"]
            stood = [given.get(key) or "" for key in ("status", "document", "revision")]
        except (OSError, ValueError, LookupError, AttributeError):
            continue  # nothing was issued here
        # a draft too: it would take the place of what was issued, and a second final then its own
        if stood == ["final", document.document, document.revision] and earlier != document.inputs:
            raise InputError.of("issued_before", job=job, document=document, earlier=earlier)


def _standing(job: Job, made_from: Mapping[str, str]) -> Outcome | None:
    """Return the report that stands there, if it is whole and of the same inputs and program."""
    names = file_names(job.notebook, job.formats)
    if not publish.stands(job.out, names.values(), sets_of(job.notebook, made_from)):
        return None
    try:
        numbers = json.loads((job.out / RESULTS).read_bytes())
    except (OSError, ValueError) as error:  # taken away between the two looks
        raise ReportError(f"{job.out / RESULTS} cannot be read: {error}") from None
    files = {kind: job.out / name for kind, name in names.items()}
    return Outcome(job=job, files=files, unchanged=True, numbers=numbers)
