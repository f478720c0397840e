"""What a document is about: one case or a part with many holes, ready to be built."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from .. import case as cases
from .. import program
from ..case import Case
from ..case.part_file import PartFile
from ..errors import InputError, ReportError
from ..study import study
from ..study.submission import submission
from . import consistency, part_results
from .build import FILES
from .company import Company, company
from .document import DocumentInfo
from .figure import METADATA
from .results import chances, results
from .run import declared_parameters

#: By these parameters a notebook of several holes is told from one of one.
_OF_A_PART = ("shared", "holes")

Documents = Mapping[str, Path]


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What a document is about.

    Attributes
    ----------
    handed : parameters by name, of which a notebook gets those that it declares
    document : words of the title block
    files : files that the case names, by name
    state : SHA-256 of all that the files of a report depend on, besides its notebook
    numbers : gives what results.json holds
    more : gives what it holds besides and takes longer to compute
    contradictions : given what `numbers` gave, the Markdown and the documents, yields each
    meanwhile : works out what `contradictions` needs, while the notebook runs
    """

    handed: Mapping[str, object]
    document: DocumentInfo
    files: Mapping[str, Path]
    state: str
    numbers: Callable[[], dict[str, Any]]
    more: Callable[[], dict[str, Any]]
    contradictions: Callable[[Mapping[str, Any], str, Documents], Iterator[str]]
    meanwhile: Callable[[], object] = dict

    def parameters(self, notebook: Path) -> dict[str, object]:
        """Return what a notebook declares of it, in the notebook's order.

        Raises
        ------
        InputError
            If the notebook is about something else: it would show its demonstration.
        """
        declared = declared_parameters(notebook)
        for name in _OF_A_PART:
            if name in self.handed and name not in declared:
                raise InputError(
                    f"notebook {notebook.name} is about one hole: it declares no {name!r}; "
                    "expected submission, or one like it"
                )
            if name in declared and name not in self.handed:
                raise InputError(
                    f"notebook {notebook.name} is about a part with several holes; give it a "
                    "submission.yaml, or a folder of cases with --as-one"
                )
        return {key: self.handed[key] for key in declared if key in self.handed}


def of_case(case: Case) -> Subject:
    """Return one case as the subject of a document."""
    files, document = _files(case), document_info(case, company(case.folder or Path()))
    whole = study(case)
    return Subject(
        # A key that the case leaves out must not keep the demonstration's value.
        handed={**dict.fromkeys(cases.keys(), ""), **case.entered, "case_folder": FILES},
        document=document,
        files=files,
        state=_state(sorted(case.entered.items()), document, files),
        numbers=lambda: results(whole, with_chances=False),
        more=lambda: chances(whole),
        contradictions=lambda *made: consistency.contradictions(whole, *made),
        meanwhile=lambda: consistency.expected(whole),
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
        inputs=part_results.inputs_sha256(found),
    )
    handed = {"shared": dict(given.shared), "holes": [dict(row) for row in given.holes]}
    return Subject(
        handed=handed,
        document=document,
        files={},
        state=_state(handed, document, {}),
        numbers=lambda: part_results.part_results(found),
        more=dict,
        contradictions=lambda *made: part_results.contradictions(found, *made),
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
        status="final",
        inputs=data_digest(),
        checksum_of="data files",
    )
    return Subject(
        handed=handed,
        document=document,
        files=files,
        state=_state(handed, document, files),
        numbers=dict,
        more=dict,
        contradictions=lambda *_: iter(()),
    )


def is_about_program(notebook: Path) -> bool:
    """Whether a notebook's report needs no case; what cannot be read is told when it is run."""
    try:
        about = json.loads(notebook.read_bytes())["metadata"][METADATA]["about"]
    except (OSError, ValueError, LookupError, TypeError):
        return False
    return bool(about == "program")


def _files(case: Case) -> Mapping[str, Path]:
    """Return the files that a case names, by name."""
    if not case.pull_tests:
        return {}
    from ..study import evidence  # costs SciPy, which no other case needs here

    folder = case.folder or Path()
    return {name: folder / name for name in evidence.files_of(case)}


def _state(entered: object, document: DocumentInfo, files: Mapping[str, Path]) -> str:
    data = [
        entered,
        document.as_data(),
        [(name, _digest(file)) for name, file in sorted(files.items())],
        program.digest(),
    ]
    return hashlib.sha256(json.dumps(data, sort_keys=True).encode()).hexdigest()


def _digest(file: Path) -> str:
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except OSError as error:
        raise ReportError(f"{file} cannot be read: {error.strerror}") from None


def document_info(case: Case, owner: Company) -> DocumentInfo:
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
