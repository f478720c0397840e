"""A report about the program itself: no case, its numbers are what its notebook computes."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from .. import program
from ..errors import InputError
from ..verification.record import data_digest
from . import publish
from .build import FILES, build_report
from .document import DocumentInfo
from .escape import visible
from .figure import METADATA
from .jobs import CLONE, home
from .progress import terminal_progress
from .run import declared_parameters

#: What a notebook says in its metadata whose report needs no case.
ABOUT = "program"


def is_about_program(notebook: Path) -> bool:
    """Whether a notebook's report needs no case; what cannot be read is told when it is run."""
    try:
        about = json.loads(notebook.read_bytes())["metadata"][METADATA]["about"]
    except (OSError, ValueError, LookupError, TypeError):
        return False
    return bool(about == ABOUT)


def report(
    notebook: Path,
    *,
    parameters: Mapping[str, str],
    formats: Sequence[str],
    out: Path | None,
) -> int:
    """Build the report and return the exit code: 1 where a check failed.

    Raises
    ------
    InputError, ReportError
        Nothing is written then.
    """
    known = declared_parameters(notebook)
    for name in parameters:
        if name not in known:
            raise InputError(f"--param: {name!r} is not one of {', '.join(known)}")
    tests = parameters.get("pull_tests", "")
    files = _files(Path(tests)) if tests else {}
    handed = {**parameters, **({"pull_tests": FILES} if files else {})}
    made = hashlib.sha256(json.dumps([program.digest(), sorted(handed.items())]).encode())
    folder = out if out is not None else _place() / notebook.stem
    published = build_report(
        notebook=notebook,
        parameters=handed,
        files=files,
        out_dir=folder,
        formats=formats,
        document=DocumentInfo(
            title=f"Verification of thread-repair {program.version()}",
            status="final",
            inputs=data_digest(),
            checksum_of="data files",
        ),
        results=lambda left: left,
        progress=terminal_progress(),
        made_from={publish.CASE: made.hexdigest()},
    )
    for file in (*published.files.values(), *published.kept, *published.outdated):
        print(visible(file))
    found = json.loads(published.files["results"].read_bytes())
    print(found["statement"])
    return 0 if found["passed"] else 1


def _place() -> Path:
    """Return the folder of reports in the clone; elsewhere the current one."""
    return CLONE / "reports" if home() == CLONE else Path()


def _files(folder: Path) -> dict[str, Path]:
    """Return the files of the user's pull tests by their place in a folder."""
    if not folder.is_dir():
        raise InputError(f"pull_tests: no folder at {folder}; expected one with cases below it")
    chosen = (*folder.rglob("case.yaml"), *folder.rglob("*.csv"))
    return {file.relative_to(folder).as_posix(): file for file in sorted(chosen)}
