"""Many cases to many reports: one bad case never stops the others."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    Executor,
    Future,
    ProcessPoolExecutor,
    as_completed,
    wait,
)
from dataclasses import replace
from multiprocessing import active_children, get_context, parent_process
from multiprocessing.connection import wait as wait_for
from pathlib import Path

from . import index, warm
from .build import terminal_progress
from .escape import visible
from .jobs import CLONE, Job, Outcome, build, demo_case, home, notebook_path
from .selection import folder_of as _folder
from .selection import select

__all__ = [
    "CLONE", "Job", "Outcome", "demo_case", "home", "notebook_path", "report", "run_batch",
    "select",
]  # fmt: skip

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
        Without an executor: processes of this machine to build with; 1 builds in this process.
        A script that asks for more needs the usual `if __name__ == "__main__":`.
    """
    if executor is not None:
        pending: dict[Future[Outcome], Job] = {executor.submit(build, job): job for job in jobs}
        for future in as_completed(pending):
            yield _outcome(future, pending[future])
    elif workers == 1:
        with warm.kept() if len(jobs) > 1 else contextlib.nullcontext():
            yield from map(build, jobs)
    else:
        yield from _in_processes(jobs, workers)


def _outcome(future: Future[Outcome], job: Job) -> Outcome:
    try:
        return future.result()
    except Exception as error:  # the worker is gone: whatever kind its executor raises
        return Outcome(job=job, faults=(f"{_ENDED}: {type(error).__name__}",))


def _in_processes(jobs: Sequence[Job], workers: int) -> Iterator[Outcome]:
    """Build in processes of this machine; one that dies takes no other report with it."""
    waiting, suspects = deque(jobs), list[Job]()
    while waiting:
        running: dict[Future[Outcome], Job] = {}
        with _pool(min(workers, len(waiting))) as submit:
            try:
                # No more are handed out than can run: when a process dies, its job is among them.
                while waiting or running:
                    while waiting and len(running) < workers:
                        future = submit(build, waiting[0])  # may find the pool broken
                        running[future] = waiting.popleft()
                    for future in wait(running, return_when=FIRST_COMPLETED).done:
                        outcome = future.result()
                        del running[future]
                        yield outcome
            except SystemExit:  # a process was asked to end before we were
                raise KeyboardInterrupt from None
            except BrokenExecutor:
                suspects += running.values()
    for job in suspects:  # alone, so that the one that ends its process ends no other
        with _pool(1) as submit:
            yield _outcome(submit(build, job), job)


@contextlib.contextmanager
def _pool(workers: int) -> Iterator[Callable[[Callable[[Job], Outcome], Job], Future[Outcome]]]:
    """Give what hands jobs to processes, which end with the block, soon if it is left early."""
    others = set(active_children())
    # spawn: a forked kernel manager would share sockets with its siblings
    with _interrupt_is_ours():  # a tracker of their semaphores starts here
        pool = ProcessPoolExecutor(
            workers, mp_context=get_context("spawn"), initializer=_end_with_us
        )

    def submit(function: Callable[[Job], Outcome], job: Job) -> Future[Outcome]:
        with _interrupt_is_ours():
            return pool.submit(function, job)

    try:
        yield submit
    except BaseException:
        for process in set(active_children()) - others:
            process.terminate()
        raise
    finally:
        pool.shutdown(cancel_futures=True)


@contextlib.contextmanager
def _interrupt_is_ours() -> Iterator[None]:
    """Have processes started in the block not hear what a terminal sends to all of them."""
    if sys.platform == "win32":
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT, signal.SIGHUP})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _end_with_us() -> None:
    """Have this process fork its kernels, and end it when asked or with the one that started it."""
    warm.template.wanted = sys.platform == "linux"
    signal.signal(signal.SIGINT, signal.SIG_IGN)

    def stop(*_: object) -> None:
        signal.signal(signal.SIGTERM, signal.SIG_IGN)  # one more must not disturb the clearing up
        raise SystemExit(1)

    signal.signal(signal.SIGTERM, stop)
    parent = parent_process()
    if parent is None:
        return

    def watch() -> None:
        wait_for([parent.sentinel])
        os._exit(1)  # nobody would take its reports

    threading.Thread(target=watch, daemon=True).start()


def report(
    chosen: Sequence[Path],
    *,
    notebook: str,
    formats: tuple[str, ...],
    out: Path | None,
    jobs: int,
    again: bool = False,
    as_one: bool = False,
    parameters: Mapping[str, str] | None = None,
) -> int:
    """Build the reports of a command line, with an index if they are several.

    Parameters are those of a notebook that is about the program, which is `chosen` then.

    Returns
    -------
    int
        The exit code: 0 if all reports stand, 2 if the input of one is wrong, 1 for other faults
        and where a check of the program failed.
    """
    if parameters is None:
        todo = select(
            chosen, notebook=notebook, formats=formats, out=out, again=again, as_one=as_one
        )
    else:
        (book,) = chosen
        place = out or (CLONE / "reports" if home() == CLONE else Path()) / book.stem
        job = Job(case=book, notebook=book, name=book.stem, out=place, formats=formats, again=again)
        todo = (replace(job, parameters=tuple(parameters.items())),)
    if len(todo) == 1:
        outcomes = list(_printed(run_batch([replace(todo[0], show_progress=True)])))
    else:
        folder = out or (_folder(chosen[0]) if len(chosen) == 1 else None)
        if folder is not None:
            index.check_place(folder)
        say = terminal_progress(always=True) or (lambda line: None)
        outcomes = list(_printed(_counted(run_batch(todo, workers=jobs), len(todo), say)))
        order = {job.out: place for place, job in enumerate(todo)}
        outcomes.sort(key=lambda outcome: order[outcome.job.out])
        if folder is None:
            print("no index, because the reports stand in several folders; --out DIR gives one")
        else:
            for file in index.write(outcomes, folder):
                print(visible(file))
    failed = (o.faults or not o.numbers.get("passed", True) for o in outcomes if not o.bad_input)
    return 1 if any(failed) else 2 if any(o.bad_input for o in outcomes) else 0


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
        for file in outcome.files:
            print(visible(file))
        for file in outcome.kept:
            print(f"kept what was changed by hand as {visible(file)}")
        for file in outcome.outdated:
            print(f"made from an earlier state of the case, now {visible(file)}")
        if outcome.numbers:
            print(outcome.numbers.get("statement") or outcome.numbers["conclusion"]["text"])
        sys.stdout.flush()
        yield outcome
