"""What a document is about: one case or a part with many holes, ready to be built."""

import datetime
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from .. import case as cases
from .. import program
from ..case.part_file import PartFile
from ..errors import InputError, ReportError
from ..study import study
from ..study.submission import submission
from . import consistency
from .build import FILES, Subject, asked
from .document import Company, DocumentInfo, company
from .results import chances, inputs_sha256, part_results, results
from .run import read_notebook


def of_case(case: cases.Case) -> Subject:
    """Return one case as the subject of a document."""
    whole, folder = study(case), case.folder or Path()

    def numbers() -> dict[str, Any]:
        consistency.expected(whole)  # kept for the contradictions
        return results(whole, with_chances=False)

    return Subject(
        # A key that the case leaves out must not keep the demonstration's value.
        handed={**dict.fromkeys(cases.keys(), ""), **case.entered, "case_folder": FILES},
        document=document_info(case, company(folder)),
        files={name: folder / name for name in [case.pull_tests] if name},
        numbers=numbers,
        more=lambda: chances(whole),
        contradictions=lambda *made: consistency.contradictions(whole, *made),
    )


def of_part(given: PartFile, folder: Path) -> Subject:
    """Return a part with many holes as the subject of one document; its file is in `folder`.

    Raises
    ------
    InputErrors
        With one sentence for each fault, naming hole and key.
    """
    found = submission(given.shared, given.holes)
    case, serials = found.case, ", ".join(filter(None, found.serials))
    document = replace(
        document_info(case, company(folder)),
        title=case.title or f"Thread repairs{case.item and ', '}{case.item}",
        serials=given.shared.get("serials", "").strip() or serials,
        inputs=inputs_sha256(found),
    )
    handed = {"shared": dict(given.shared), "holes": [dict(row) for row in given.holes]}
    return Subject(
        handed=handed,
        document=document,
        numbers=lambda: part_results(found),
        contradictions=lambda *made: consistency.part_contradictions(found, *made),
    )


def of_program(parameters: Mapping[str, str]) -> Subject:
    """Return the program itself as the subject: its numbers are what its notebook computes."""
    from ..verification.record import data_digest

    files = {}
    if tests := parameters.get("pull_tests", ""):
        folder = Path(tests)
        if not folder.is_dir():
            raise InputError(f"pull_tests: no folder at {folder}; expected one with cases below it")
        chosen = sorted((*folder.rglob("case.yaml"), *folder.rglob("*.csv")))
        files = {file.relative_to(folder).as_posix(): file for file in chosen}
    handed = {**parameters, **({"pull_tests": FILES} if files else {})}
    document = DocumentInfo(
        title=f"Verification of thread-repair {program.version()}",
        status="",
        inputs=data_digest(),
        checksum_of="data files",
    )
    return Subject(handed=handed, document=document, files=files)


def is_about_program(notebook: Path) -> bool:
    """Whether a notebook's report needs no case; what cannot be read is told when it is run."""
    try:
        return asked(read_notebook(notebook)).get("about") == "program"
    except ReportError:
        return False


def document_info(case: cases.Case, owner: Company) -> DocumentInfo:
    """Return the title block of a case, and whose document it is."""
    as_given = (
        "document", "revision", "status", "customer", "item", "serials", "prepared_by",
        "checked_by", "approved_by",
    )  # fmt: skip
    return DocumentInfo(
        company=owner,
        title=case.title or f"Thread repair {case.thread}",
        date=datetime.date.fromisoformat(case.date) if case.date else None,
        inputs=case.inputs_sha256,
        **{name: getattr(case, name) for name in as_given},
    )
