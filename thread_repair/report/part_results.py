"""Every number of a document of several holes as one file, and whether it says one thing."""

import hashlib
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from .. import program, words
from ..errors import message
from ..study import CONCLUSIONS
from ..study.submission import Submission
from . import consistency
from .blocks import part
from .blocks.conclusion import conclusion, criteria_table
from .paths import finite, picked
from .results import entered, results

FORMAT = "thread-repair-submission/1"


def part_results(found: Submission) -> dict[str, Any]:
    """Return the whole document; each hole has the results that its own report has.

    Holes of one joint share them but for their own words. Sentences are in SI.
    """
    of = {}
    for holes in found.joints.values():
        shared = results(holes[0].study, with_chances=False)
        for hole in holes:
            own = {"case": entered(hole.case), "inputs_sha256": hole.case.inputs_sha256}
            of[hole.label] = shared | own
    document = {
        "format": FORMAT,
        **picked("part", found.case),
        "serials": [each for each in found.serials if each],
        "conclusion": {"id": found.conclusion, "text": words.sentence(found.statement)},
        "matrix": [
            picked("verdict", {"hole": hole, "serial": serial})
            for (_, serial), hole in found.matrix.items()
        ],
        "criteria_not_met": [
            {"holes": [hole.label for hole in holes], "number": number, **picked("not_met", each)}
            for holes, number, each in found.not_met
        ],
        "equal_holes": [[hole.label for hole in holes] for holes in found.joints.values()],
        "holes": {hole.label: of[hole.label] for hole in found.holes},
        "inputs_sha256": inputs_sha256(found),
        "version": program.version(),
    }
    return dict(finite(document))


def inputs_sha256(found: Submission) -> str:
    """Return the SHA-256 of what was entered for every hole."""
    data = [[hole.name, hole.serials, hole.case.inputs_sha256] for hole in found.holes]
    return hashlib.sha256(json.dumps(data, ensure_ascii=False).encode()).hexdigest()


def contradictions(
    found: Submission, numbers: Mapping[str, Any], markdown: str, made: Mapping[str, Path]
) -> Iterator[str]:
    """Yield every contradiction of the document, as `consistency.contradictions` of a report."""
    yield from of_results(numbers)
    yield from _of_notebook(found, markdown)
    yield from consistency.of_conclusion(found.statement, "holes", numbers, markdown, made)


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
        margins = (each["repaired"] for each in own["criteria"] if "margin_" in each["id"])
        least = min((each for each in margins if each is not None), default=None)
        if cell["minimum_margin"] != least:
            yield message("matrix_margin_differs", place=place, cell=cell, least=least)
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
    tables = (*part.matrix_tables(found), part.not_met(found))
    yield from consistency.of_tables(tables, markdown)
    for holes in found.joints.values():
        study, name = holes[0].study, part.title(holes)
        _, heading, page = markdown.partition(f"{{#{part.anchor(found, holes[0])}}}")
        if not heading:
            continue
        page = page.partition("{.one-page}")[0]
        for what, text in (
            ("conclusion", conclusion(study).data),
            ("table of key numbers", part.numbers_table(study).markdown()),
            ("table of criteria", criteria_table(study, of=name).markdown()),
        ):
            if text not in page:
                yield f"the page of {name} has another {what} than results.json"
