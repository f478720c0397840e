"""Where the sources disagree."""

from __future__ import annotations

from collections.abc import Iterator

from ... import inserts, tables
from ...joint import Evaluation
from ...sources import Reference
from ...study import Study
from ..figure import ReportTable
from .places import place


def disagreements_table(study: Study) -> ReportTable:
    """Tabulate the positions of the sources, issue by issue."""
    evaluation = study.evaluation
    rows = []
    last = ""
    for issue, position, reference in _positions(evaluation):
        rows.append(("" if issue == last else issue, position, place(reference)))
        last = issue
    return ReportTable(
        ["Issue", "Position", "Source, clause (basis)"],
        rows,
        caption="Where the sources disagree",
        label="disagreements",
    )


def _positions(evaluation: Evaluation) -> Iterator[tuple[str, str, Reference]]:
    for row in tables.rows("disagreements.csv"):
        yield row["issue"], row["position"], tables.reference(row)
    for rule in inserts.set_down_rules(evaluation.joint.thread):
        yield "Set-down of the insert", rule.words, rule.reference
    for row in tables.rows("no_go_rules.csv"):
        yield "Entry of the NO-GO gauge", row["words"], tables.reference(row)
