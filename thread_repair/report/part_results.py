"""Every number of a document of several holes as one file, and whether it says one thing."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from .. import program, words
from ..case import understood
from ..errors import ReportError
from ..study import CONCLUSIONS
from ..study.submission import StudiedHole, Submission, Verdict
from . import consistency, escape
from .blocks import part
from .blocks.conclusion import conclusion, criteria_table
from .figure import ReportTable
from .results import finite, results

FORMAT = "thread-repair-submission/1"


def part_results(found: Submission) -> dict[str, Any]:
    """Return the whole document; each hole has the results that its own report has.

    Holes of one joint share them but for their own words. Sentences are in SI.
    """
    joints = {
        label: results(holes[0].study, with_chances=False) for label, holes in found.joints.items()
    }
    of = {
        hole.label: {**joints[label], **_own(hole)}
        for label, holes in found.joints.items()
        for hole in holes
    }
    document: dict[str, Any] = {
        "format": FORMAT,
        "part": found.case.item,
        "customer": found.case.customer,
        "document": found.case.document,
        "revision": found.case.revision,
        "serials": [each for each in found.serials if each],
        "conclusion": {"id": found.conclusion, "text": words.sentence(found.statement)},
        "matrix": [_verdict(each) for each in found.matrix.values()],
        "criteria_not_met": [
            {
                "holes": [hole.label for hole in holes],
                "number": number,
                "criterion": each.id,
                "refuses": each.refuses,
                "required": None if each.required is None else each.required.value,
                "repaired": None if each.repaired is None else each.repaired.value,
                "original": None if each.original is None else each.original.value,
            }
            for holes, number, each in found.not_met
        ],
        "equal_holes": [[hole.label for hole in holes] for holes in found.joints.values()],
        "holes": {hole.label: of[hole.label] for hole in found.holes},
        "inputs_sha256": inputs_sha256(found),
        "version": program.version(),
    }
    exact: dict[str, Any] = finite(document)
    return exact


def _own(hole: StudiedHole) -> dict[str, Any]:
    """What the results of equal holes differ in."""
    return {
        "case": {key: words.given(value) for key, value in understood(hole.case).items()},
        "inputs_sha256": hole.case.inputs_sha256,
    }


def _verdict(each: Verdict) -> dict[str, Any]:
    margin = each.margin
    known = margin is not None and margin.repaired is not None
    return {
        "hole": each.hole.name,
        "serial": each.serial,
        "results": each.hole.label,
        "conclusion": each.conclusion,
        "minimum_margin": margin.repaired.value if known else None,  # type: ignore[union-attr]
        "criterion": margin.id if known else None,  # type: ignore[union-attr]
    }


def inputs_sha256(found: Submission) -> str:
    """Return the SHA-256 of what was entered for every hole."""
    data = [[hole.name, hole.serials, hole.case.inputs_sha256] for hole in found.holes]
    return hashlib.sha256(json.dumps(data, ensure_ascii=False).encode()).hexdigest()


def check(
    found: Submission, numbers: Mapping[str, Any], markdown: str, files: Mapping[str, Path]
) -> None:
    """Refuse a document that contradicts itself.

    Parameters
    ----------
    found : Submission
        The part, studied in this process; the notebook has studied it in its own.
    numbers : mapping
        What results.json will hold.
    markdown : str
        The executed notebook, flattened.
    files : mapping of str to Path
        The documents by format.

    Raises
    ------
    ReportError
        Naming both places of the first contradiction.
    """
    fault = next(contradictions(found, numbers, markdown, files), None)
    if fault is not None:
        raise ReportError(f"the document contradicts itself: {fault}; nothing was published")


def contradictions(
    found: Submission, numbers: Mapping[str, Any], markdown: str, files: Mapping[str, Path]
) -> Iterator[str]:
    """Yield every contradiction, each with both places."""
    yield from of_results(numbers)
    said = words.sentence(found.statement)
    if numbers["conclusion"]["text"] != said:
        yield f"results.json concludes {numbers['conclusion']['text']!r}, the holes {said!r}"
    yield from _of_notebook(found, markdown)
    yield from consistency.of_files(said, markdown, files)


def of_results(numbers: Mapping[str, Any]) -> Iterator[str]:
    """Yield the contradictions within results.json: cover, matrix and holes."""
    holes = numbers["holes"]
    for label, each in holes.items():
        yield from (f"hole {label}: {fault}" for fault in consistency.of_results(each))
    for cell in numbers["matrix"]:
        own = holes[cell["results"]]
        place = f"the matrix at hole {cell['hole']}, serial number {cell['serial'] or '-'}"
        if cell["conclusion"] != own["conclusion"]["id"]:
            yield f"{place} is {cell['conclusion']!r}, its hole {own['conclusion']['id']!r}"
        margins = [
            each["repaired"]
            for each in own["criteria"]
            if each["id"].startswith("margin_") and each["repaired"] is not None
        ]
        if cell["minimum_margin"] != min(margins, default=None):
            yield (
                f"{place} has the minimum margin {cell['minimum_margin']}, the criteria of its "
                f"hole {min(margins, default=None)}"
            )
    worst = max(
        (cell["conclusion"] for cell in numbers["matrix"]), key=CONCLUSIONS.index, default=None
    )
    if numbers["conclusion"]["id"] != worst:
        yield f"the cover concludes {numbers['conclusion']['id']!r}, the matrix {worst!r}"
    listed = {(label, each["criterion"])
              for each in numbers["criteria_not_met"] for label in each["holes"]}  # fmt: skip
    there = {
        (label, each["id"])
        for label, own in holes.items()
        for each in own["criteria"]
        if each["met"] is not True
    }
    for label, id_ in sorted(listed ^ there):
        where = "only its hole has" if (label, id_) in there else "its hole does not have"
        yield f"criteria not met: {id_} at hole {label}, which {where}"


def _of_notebook(found: Submission, markdown: str) -> Iterator[str]:
    """Compare what the notebook printed of each hole with the studies behind results.json."""
    tables: list[tuple[str, object]] = [
        *(("the matrix", table) for table in part.matrix_tables(found)),
        ("the table of criteria not met", part.not_met(found)),
    ]
    for name, table in tables:
        if not isinstance(table, ReportTable) or not _is_shown(table, markdown):
            continue
        if table.markdown() not in markdown:
            yield f"{name} of the notebook has other values than results.json"
    for holes in found.joints.values():
        study, name = holes[0].study, part.title(holes)
        heading = f"{{#{part.anchor(found, holes[0])}}}"
        if heading not in markdown:
            continue
        page = markdown.partition(heading)[2].partition("{.one-page}")[0]
        for what, text in (
            ("conclusion", conclusion(study).data),
            ("table of key numbers", part.numbers_table(study).markdown()),
            ("table of criteria", criteria_table(study, of=name).markdown()),
        ):
            if text not in page:
                yield f"the page of {name} has another {what} than results.json"


def _is_shown(table: ReportTable, markdown: str) -> bool:
    """Whether the notebook prints a table of this name and these columns."""
    return escape.markdown(table.caption) in markdown
