"""The same from a terminal: ask, report, evaluate, compare, workbook, new, list and more.

Exit codes: 0 done, 2 bad input (one sentence on stderr per fault), 1 anything else.
"""

import argparse
import atexit
import contextlib
import gc
import io
import json
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any, NoReturn

from . import files, program
from .errors import InputError, MissingPackageError, ReportError, ThreadRepairError, ValidityError


class _Parser(argparse.ArgumentParser):
    """A parser whose errors are one sentence, as all others are."""

    def error(self, message: str) -> NoReturn:
        raise InputError(f"{self.prog}: {message}; {self.prog} --help shows the use")


class _Version(argparse.Action):
    """Print the version: worked out only when it is asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        print(f"{parser.prog} {program.version()}")
        parser.exit()


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="thread-repair",
        description="Compare a thread repaired with a wire thread insert with the tapped thread "
        "it replaces. The output is a calculation for review by a competent person.",
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and exit")
    commands = parser.add_subparsers(dest="command", required=True, parser_class=_Parser)
    for name, told in files.data("commands.toml").items():
        command = commands.add_parser(name, help=told["help"])
        for names, how in told.get("arguments", {}).items():
            kind = {"type": _TYPES[how["type"]]} if "type" in how else {}
            command.add_argument(*names.split(), **{**how, **kind})
        command.set_defaults(run=globals()[f"_{name}"])
    return parser


def _jobs(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of jobs; expected 1 or more")
    return int(text)


def _path(text: str) -> Path:
    if not text.strip():  # Path("") would be the current folder
        raise argparse.ArgumentTypeError("the name is empty; expected a file or folder")
    return Path(text)


def _parameter(text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals:
        raise argparse.ArgumentTypeError(f"{text!r} is not of the form NAME=VALUE")
    return name.strip(), value.strip()


_TYPES = {"path": _path, "jobs": _jobs, "parameter": _parameter, "int": int}


def _report(arguments: argparse.Namespace) -> int:
    from .report import kernel

    # a guess, before anything is imported that knows; a wrong one costs time alone
    one = ("", "case.yaml", "submission.yaml")
    several = not all(
        any(os.path.isfile(case / name) for name in one) and case.suffix in ("", ".yaml")
        for case in arguments.cases
    )
    kernel.begin(several=several or len(arguments.cases) > 1)
    from .report import batch

    for package in ("nbformat", "papermill", "pypandoc", "typst"):
        if find_spec(package) is None:
            raise MissingPackageError(package)
    return batch.report(arguments)


def _ask(arguments: argparse.Namespace) -> None:
    from .report import answer_lines, results
    from .study.answer import answer

    found = answer(" ".join(arguments.words))
    asked, saved = found.asked, ""
    if arguments.save is not None:
        from .case import starter

        written = starter.write(arguments.save, asked.entered, assumed=tuple(asked.assumed))
        saved = f"\nwrote {written}"
    if arguments.json:
        _say_json(results.results(found.study, with_chances=False) | {"asked": asked.data})
    else:
        print(answer_lines.text(found) + saved)


def _evaluate(arguments: argparse.Namespace) -> None:
    from . import case, study
    from .report import results, terminal

    found = study(case.load(arguments.case))
    tested = bool(found.case.pull_tests)
    if tested:
        found.evidence  # noqa: B018  # the record must be read, and its faults told
    if arguments.json:
        # The chances cost more than all the rest, and a report gives them.
        _say_json(results.results(found, with_chances=tested))
    else:
        print(terminal.summary(found))


def _compare(arguments: argparse.Namespace) -> None:
    from . import case, study
    from .report import results, terminal

    found = study(case.load(arguments.case))
    if arguments.json:
        _say_json(results.options(found))
    else:
        print(terminal.compared(found))


def _say_json(document: object) -> None:
    # Where the stream lacks a character its escape must be one of JSON.
    every = (sys.stdout.encoding or "").casefold() == "utf-8"
    print(json.dumps(document, indent=2, ensure_ascii=not every, allow_nan=False))


def _workbook(arguments: argparse.Namespace) -> int:
    from .workbook import desk

    return desk.serve(arguments.case, port=arguments.port, browser=not arguments.no_browser)


def _new(arguments: argparse.Namespace) -> None:
    from .case import starter

    if (arguments.path is None) == (arguments.table is None):
        raise InputError("new: give PATH for a case, or --table FILE for a table of cases")
    table = arguments.table
    print("wrote", starter.write(arguments.path) if table is None else starter.write_table(table))


def _list(arguments: argparse.Namespace) -> None:
    from . import catalogue

    print(catalogue.table(arguments.what))


def _catalogue(arguments: argparse.Namespace) -> None:
    from . import catalogue_sweep, materials, threads

    if arguments.out is None and arguments.chart is None:
        raise InputError("catalogue: give --out FILE for the table, --chart FILE for the chart")
    for file in filter(None, (arguments.out, arguments.chart)):
        files.check_new(file)
    chosen = (
        None if arguments.threads is None else [threads.thread(name) for name in arguments.threads]
    )
    some = {"parents": arguments.parents, "screws": arguments.screws}
    for name in arguments.parents or ():
        if (used := materials.parent(name).id) != name:
            print(f"{name}: stands there as {used}, with its strength", file=sys.stderr)
    if arguments.chart is not None:
        if chosen is None or len(chosen) != 1:
            raise InputError("catalogue: a chart is of one thread; name it with --threads")
        needed = catalogue_sweep.needed_lengths(chosen[0], **some)
        _draw_chart(arguments.chart, chosen[0].designation, needed)
        print(f"wrote {arguments.chart}")
    if arguments.out is not None:
        tables = catalogue_sweep.sweep_threads(chosen, **some)
        joints, left_out = catalogue_sweep.write(arguments.out, tables)
        for each in left_out:
            print(f"left out {each}", file=sys.stderr)
        print(f"wrote {arguments.out}, {joints} joints")


def _draw_chart(file: Path, thread: str, needed: Any) -> None:
    from .figures.strip_load import insert_length_chart

    if file.suffix not in (".png", ".svg", ".pdf"):
        raise InputError(f"{file.name}: a chart is a .png, .svg or .pdf file")
    picture = insert_length_chart(needed, thread=thread)
    with files.writing(file), files.in_one_step(file) as aside:
        picture.savefig(aside, dpi=200, format=file.suffix[1:])


def _exercises(arguments: argparse.Namespace) -> int | None:
    if arguments.mark and arguments.keys and arguments.seed is None and not arguments.names:
        return _mark(arguments)
    marks = arguments.mark or arguments.keys or arguments.manual
    if not arguments.out or marks or (arguments.names and arguments.seed is not None):
        raise InputError.of("exercises_arguments")
    from .teaching import copies

    if arguments.names:
        number = len(copies.write_class(arguments.names, arguments.out)) // 3
        said = "1 copy and its keys" if number == 1 else f"{number} copies and their keys"
        print(f"wrote {said} into {arguments.out}")
    else:
        for file in copies.write(arguments.seed, arguments.out):
            print(f"wrote {file}")
    return None


def _mark(arguments: argparse.Namespace) -> int:
    from .teaching import classes

    rows = classes.mark(arguments.mark, arguments.keys, manual=arguments.manual)
    if arguments.out:
        classes.write(rows, arguments.out)
        print(f"wrote {arguments.out}")
    for row in rows:
        if "points" not in row:
            _say(InputError(f"{row['file']}: {row['remarks']}"))
            continue
        left = row["left_for_a_person"]
        more = f", {left} more are given by a person" if left else ""
        said = f". {row['remarks']}" if row["remarks"] else ""
        who = f" ({row['name']})" if row["name"] else ""
        print(f"{row['file']}{who}: {row['points']:g} of {row['out_of']} points{more}{said}")
    failed = sum("points" not in row for row in rows)
    print(f"{len(rows) - failed} marked, {failed} not marked")
    return 2 if failed else 0


def _page(arguments: argparse.Namespace) -> None:
    from .teaching import static

    print(f"wrote {static.write(arguments.path)}")


def command() -> int:
    """Run the command line as a process of its own, and return its exit code."""
    # What is imported stays until the end: a fifth of the time would go on looking through it.
    gc.set_threshold(100_000)
    atexit.register(gc.freeze)
    for name in ("stdin", "stdout", "stderr"):  # one that is closed: a file would get its number
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "r+"))  # noqa: SIM115
    try:
        try:
            return main()
        finally:
            print(end="", flush=True)  # a fault is told here, not by the interpreter
    except OSError as error:
        if not isinstance(error, BrokenPipeError):  # the reader of a pipe, such as head, has left
            where = f" ({error.filename})" if error.filename else ""
            with contextlib.suppress(OSError):
                _say(ReportError(f"stopped by the system: {error.strerror or error}{where}"))
        for number in (1, 2):  # what they still hold is not tried again
            os.dup2(os.open(os.devnull, os.O_WRONLY), number)
        return 1


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal or pipe of another encoding shows an escape where it has no character.
            stream.reconfigure(errors="backslashreplace")
    try:
        with _polite_ends():
            parsed = _parser().parse_args(arguments)
            run: Callable[[argparse.Namespace], int | None] = parsed.run
            return run(parsed) or 0
    except ThreadRepairError as error:
        _say(error)
        return 2 if isinstance(error, (InputError, ValidityError)) else 1
    except ModuleNotFoundError as error:
        _say(MissingPackageError(error.name))
        return 1
    except KeyboardInterrupt:
        with contextlib.suppress(OSError):  # a terminal that was closed
            print("stopped; what was not finished was not published", file=sys.stderr)
        return 1


@contextlib.contextmanager
def _polite_ends() -> Iterator[None]:
    """Have the ends that ask (Ctrl-C, a closed terminal, `kill`) clear up, undisturbed by more."""
    names = ("SIGINT", "SIGTERM", "SIGHUP")
    asked = {each: signal.getsignal(each) for each in signal.Signals if each.name in names}
    # Whoever had us ignore one (nohup) meant it.
    asked = {each: found for each, found in asked.items() if found is not signal.SIG_IGN}
    if threading.current_thread() is not threading.main_thread():
        asked = {}

    def stop(*_: object) -> None:
        for each in asked:
            signal.signal(each, signal.SIG_IGN)
        raise KeyboardInterrupt

    for each in asked:
        signal.signal(each, stop)
    try:
        yield
    finally:
        for each, found in asked.items():
            signal.signal(each, found)


def _say(error: ThreadRepairError) -> None:
    from .report.escape import visible  # what was typed must not steer the terminal

    for line in str(error).splitlines():
        print(visible(line), file=sys.stderr)
