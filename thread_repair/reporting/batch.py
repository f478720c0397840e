"""Many cases to many reports: one bad case never stops the others."""

from __future__ import annotations

import datetime
import sys
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

from .. import case as cases
from ..case import Case
from ..errors import InputError, ThreadRepairError, ValidityError, unknown
from ..results import results
from .build import FILES, build_report
from .document import DocumentInfo
from .progress import terminal_progress
from .run import declared_parameters

DEMO = "demo-rig-plate"


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One report to build: plain paths and words, so that it can be sent to another process."""

    case: Path
    notebook: Path
    out: Path
    formats: tuple[str, ...]
    show_progress: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one job: the published files, or the sentences that say why not."""

    case: Path
    files: tuple[Path, ...] = ()
    verdict: str = ""
    faults: tuple[str, ...] = ()
    bad_input: bool = False


def home() -> Path:
    """Return the folder that holds `notebooks/` and `reports/`.

    Raises
    ------
    InputError
        If neither the current folder nor the one the package was installed from has them.
    """
    for folder in (Path.cwd(), Path(__file__).parents[2]):
        if (folder / "notebooks").is_dir():
            return folder
    raise InputError(
        "no folder 'notebooks' here; run thread-repair in the clone it was installed from"
    )


def demo_case() -> Path:
    """Return the case of the shipped demonstration."""
    return home() / "reports" / DEMO / "case.yaml"


def notebook_path(name: str) -> Path:
    """Return a notebook by its name or its path.

    Raises
    ------
    InputError
        Naming the nearest known notebooks.
    """
    if name.endswith(".ipynb") and Path(name).is_file():
        return Path(name)
    folder = home() / "notebooks"
    known = sorted(path.stem for path in folder.glob("*.ipynb"))
    if name not in known:
        raise unknown("notebook", name, known)
    return folder / f"{name}.ipynb"


def build(job: Job) -> Outcome:
    """Build one report. Everything that can be wrong with it ends in the outcome."""
    try:
        entered = cases.load_text(job.case)
        case = cases.read(entered, folder=cases.folder(job.case))
        numbers = results(case, chances=False)
        declared = set(declared_parameters(job.notebook)) & {*cases.keys(), "case_folder"}
        # A key that the case leaves out must not keep the demonstration's value.
        handed = {**dict.fromkeys(declared, ""), **entered, "case_folder": FILES}
        published = build_report(
            notebook=job.notebook,
            parameters={key: value for key, value in handed.items() if key in declared},
            files=_files(case),
            out_dir=job.out,
            formats=job.formats,
            document=document_info(case),
            results=lambda: results(case),
            progress=terminal_progress() if job.show_progress else None,
        )
    except ThreadRepairError as error:
        return Outcome(
            case=job.case,
            faults=tuple(str(error).splitlines()),
            bad_input=isinstance(error, (InputError, ValidityError)),
        )
    return Outcome(
        case=job.case,
        files=tuple(published.files.values()),
        verdict=numbers["comparison"]["verdict"],
    )


def _files(case: Case) -> Mapping[str, Path]:
    """Return the files that a case names, by name."""
    if not case.pull_tests:
        return {}
    from .. import evidence  # costs SciPy, which no other case needs here

    folder = case.folder or Path()
    return {name: folder / name for name in evidence.files_of(case)}


def document_info(case: Case) -> DocumentInfo:
    """Return the title block of a case."""
    return DocumentInfo(
        title=case.title or f"Thread repair {case.thread}",
        document=case.document,
        revision=case.revision,
        status=case.status,
        date=datetime.date.fromisoformat(case.date) if case.date else None,
        customer=case.customer,
        item=case.item,
        serials=case.serials,
        prepared_by=case.prepared_by,
        checked_by=case.checked_by,
        approved_by=case.approved_by,
    )


def run_batch(jobs: Sequence[Job], executor: Executor | None = None) -> Iterable[Outcome]:
    """Build every job and yield its outcome as it comes; without an executor one after another.

    Any executor of the `concurrent.futures` kind will do.
    """
    if executor is None:
        yield from map(build, jobs)
        return
    pending: dict[Future[Outcome], Job] = {executor.submit(build, job): job for job in jobs}
    for future in as_completed(pending):
        yield future.result()


def report(
    cases_: Sequence[Path],
    *,
    notebook: str,
    formats: tuple[str, ...],
    out: Path | None,
    jobs: int,
) -> int:
    """Build the reports of a command line and return its exit code."""
    path = notebook_path(notebook)
    todo = [
        Job(
            case=case,
            notebook=path,
            out=_folder(case, out),
            formats=formats,
            show_progress=jobs == 1,
        )
        for case in cases_
    ]
    if jobs == 1:
        outcomes = list(_printed(run_batch(todo)))
    else:
        # spawn: a forked kernel manager would share sockets with its siblings
        with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as executor:
            outcomes = list(_printed(run_batch(todo, executor)))
    if any(outcome.faults and not outcome.bad_input for outcome in outcomes):
        return 1
    return 2 if any(outcome.bad_input for outcome in outcomes) else 0


def _folder(case: Path, out: Path | None) -> Path:
    """Return where a report goes: beside its case, or in a folder of that name under `out`."""
    beside = cases.folder(case)
    return beside if out is None else out / beside.resolve().name


def _printed(outcomes: Iterable[Outcome]) -> Iterable[Outcome]:
    for outcome in outcomes:
        for fault in outcome.faults:
            print(f"{outcome.case}: {fault}", file=sys.stderr)
        for file in outcome.files:
            print(file)
        if outcome.verdict:
            print(outcome.verdict)
        yield outcome
