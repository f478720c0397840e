"""Many cases to many reports: one bad case never stops the others."""

import os
import signal
import sys
import tempfile
import time
from argparse import Namespace
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, as_completed
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from pathlib import Path
from typing import Any

from ..errors import InputError
from . import index, jobs, kernel
from .build import terminal_progress
from .escape import visible
from .jobs import CLONE, Job, Outcome, build, notebook_path
from .run import declared_parameters
from .selection import folder_of, select
from .subjects import is_about_program

_ENDED = "the process that built it was ended from outside or crashed (out of memory, perhaps)"


def run_batch(
    jobs: Sequence[Job], executor: Executor | None = None, *, workers: int = 1
) -> Iterator[Outcome]:
    """Build every job and yield its outcome as it comes.

    Parameters
    ----------
    jobs : sequence of Job
        From `select`. What stands finished and unchanged is not built again, so a batch that was
        ended at any moment is taken up by running it again.
    executor : concurrent.futures.Executor, optional
        Any of that kind: the executor of a cluster, say, whose machines see the same folders. Its
        workers must be processes that build one report at a time, not threads of one process.
    workers : int
        Without an executor: processes of this machine that build at a time, each one report.
    """
    if executor is not None:
        pending = {executor.submit(build, job): job for job in jobs}
        for future in as_completed(pending):
            try:
                yield future.result()
            except Exception as error:  # the worker is gone: whatever kind its executor raises
                fault = f"{_ENDED}: {type(error).__name__}"
                yield Outcome(job=pending[future], faults=(fault,))
    elif len(jobs) == 1 or (workers == 1 and not kernel.can_fork()):
        yield from map(build, jobs)
    else:
        yield from _in_processes(jobs, workers)


def _in_processes(jobs: Sequence[Job], workers: int) -> Iterator[Outcome]:
    """Build each in a process of this machine; one that dies takes no other report with it."""
    context: Any = get_context("spawn")
    if kernel.can_fork():
        context = kernel.forking(*kernel.OF_A_BATCH)
    waiting, running = [*jobs], dict[Any, tuple[Any, Job]]()
    with tempfile.TemporaryDirectory(prefix="thread-repair-") as private:
        try:
            while waiting or running:
                while waiting and len(running) < workers:
                    ours, theirs = context.Pipe(duplex=False)
                    job = waiting.pop(0)
                    process = context.Process(target=_send, args=(job, theirs, {**os.environ}))
                    with kernel.starting(Path(private)):
                        process.start()
                        running[ours] = process, job
                    theirs.close()
                ended: Any = wait([*running])
                for ready in ended:
                    process, job = running[ready]
                    try:
                        outcome: Outcome = ready.recv()
                    except (EOFError, OSError):  # perhaps in the middle of its answer
                        outcome = Outcome(job=job, faults=(_ENDED,))
                    process.join()
                    del running[ready]
                    yield outcome
        finally:
            for process, _ in running.values():
                process.terminate()
            for process, _ in running.values():
                process.join()


def _send(job: Job, to: Connection, environment: dict[str, str]) -> None:
    """Build a report and send what became of it; end when asked, or with whoever waits for it."""
    os.environ.clear()
    os.environ.update(environment)
    signal.signal(signal.SIGINT, signal.SIG_IGN)

    def stop(*_: object) -> None:
        signal.signal(signal.SIGTERM, signal.SIG_IGN)  # one more must not disturb the clearing up
        raise SystemExit(1)

    signal.signal(signal.SIGTERM, stop)
    kernel.end_with_caller()
    to.send(build(job))


def report(wanted: Namespace) -> int:
    """Build the reports of a command line, with an index if they are several.

    Parameters
    ----------
    wanted : argparse.Namespace
        The arguments of `report` in `data/commands.toml`. Its `param` are of a notebook that is
        about the program; without a case the shipped demonstration is built.

    Returns
    -------
    int
        The exit code: 0 if all reports stand, 2 if the input of one is wrong, 1 for other faults
        and where a check of the program failed.

    Raises
    ------
    InputError
        If there is nothing to build, or two reports would share a folder.
    """
    chosen, out = wanted.cases, wanted.out
    how: dict[str, Any] = {"formats": tuple(dict.fromkeys(wanted.to)), "again": wanted.again}
    book = notebook_path(wanted.notebook) if wanted.notebook else None
    if book is not None and is_about_program(book):
        if chosen:
            raise InputError(f"{wanted.notebook} is about the program and takes no case")
        todo: tuple[Job, ...] = (_about_program(book, dict(wanted.param), out, **how),)
    else:
        if wanted.param:
            raise InputError.of("param_beside_case")
        if not chosen:
            chosen = [jobs.demo_case()]
            # not into the folder of installed files
            out = out or (None if jobs.home() == CLONE else Path())
        todo = select(chosen, notebook=wanted.notebook, out=out, as_one=wanted.as_one, **how)
    if len(todo) == 1:
        outcomes = list(_printed([build(todo[0], terminal_progress())]))
    else:
        folder = out or (folder_of(chosen[0]) if len(chosen) == 1 else None)
        if folder is not None:
            index.check_place(folder)
        say = terminal_progress(always=True)
        outcomes = list(_printed(_counted(run_batch(todo, workers=wanted.jobs), len(todo), say)))
        order = {job.out: place for place, job in enumerate(todo)}
        outcomes.sort(key=lambda outcome: order[outcome.job.out])
        if folder is None:
            print("no index, because the reports stand in several folders; --out DIR gives one")
        else:
            for file in index.write(outcomes, folder):
                print(visible(file))
    failed = (o.faults or not o.numbers.get("passed", True) for o in outcomes if not o.bad_input)
    return 1 if any(failed) else 2 if any(o.bad_input for o in outcomes) else 0


def _about_program(book: Path, parameters: Mapping[str, str], out: Path | None, **how: Any) -> Job:
    """Return the job of a notebook that is about the program."""
    known = declared_parameters(book)
    for name in parameters:
        if name not in known:
            raise InputError(f"--param: {name!r} is not one of {', '.join(known)}")
    place = out or (CLONE / "reports" if jobs.home() == CLONE else Path()) / book.stem
    return Job(case=book, notebook=book, name=book.stem, out=place, parameters=parameters, **how)


def _counted(
    outcomes: Iterable[Outcome], count: int, say: Callable[[str], None]
) -> Iterator[Outcome]:
    """Say after each report how many are done and how long the others will take."""
    start = time.monotonic()
    failed = built = 0
    say(f"0 of {count}")
    try:
        for done, outcome in enumerate(outcomes, start=1):
            failed += bool(outcome.faults)
            built += bool(outcome.files) and not outcome.unchanged
            say("")  # what is printed for this report takes the line
            yield outcome
            line = f"{done} of {count}"
            if failed:
                line += f", {failed} failed"
            if built and done < count:
                left = (time.monotonic() - start) / built * (count - done)
                line += f", about {duration(left)} left"
            say(line)
    finally:
        say("")


def duration(seconds: float) -> str:
    """Return a time as a person says it.

    Examples
    --------
    >>> duration(42.3), duration(200), duration(8000)
    ('42 s', '3 min 20 s', '2 h 13 min')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"


def _printed(outcomes: Iterable[Outcome]) -> Iterator[Outcome]:
    for outcome in outcomes:
        name = visible(outcome.job.name)
        for fault in outcome.faults:
            print(f"{name}: {visible(fault)}", file=sys.stderr)
        if outcome.unchanged:
            print(f"{name}: finished and unchanged; --again builds it anew")
        for file in outcome.files.values():
            print(visible(file))
        for file in outcome.kept:
            print(f"kept what was changed by hand as {visible(file)}")
        for file in outcome.outdated:
            print(f"made from an earlier state of the case, now {visible(file)}")
        if outcome.numbers:
            print(outcome.numbers.get("statement") or outcome.numbers["conclusion"]["text"])
        sys.stdout.flush()
        yield outcome
