"""Where the sources disagree."""

from __future__ import annotations

from collections.abc import Iterator

from ... import inserts, tables, words
from ...facts import stress
from ...joint import Evaluation
from ...sources import Reference
from ...study import Study
from ..figure import ReportTable
from .layout import table


def disagreements_table(study: Study) -> ReportTable:
    """Tabulate the positions of the sources, issue by issue."""
    rows, last = [], ""
    for issue, position, reference in _positions(study.evaluation, study.case.report_units):
        rows.append(("" if issue == last else issue, position, reference))
        last = issue
    return table("disagreements", rows)


def _positions(evaluation: Evaluation, system: str) -> Iterator[tuple[str, str, Reference]]:
    for row in tables.rows("disagreements.csv"):
        value = {"value": stress(float(row["stress_MPa"] or "nan"))}
        yield (
            row["issue"],
            words.filled(row["position"], value, system=system),
            tables.reference(row),
        )
    for rule in inserts.set_down_rules(evaluation.joint.thread):
        yield "Set-down of the insert", rule.words, rule.reference
    for row in tables.rows("no_go_rules.csv"):
        yield "Entry of the NO-GO gauge", row["words"], tables.reference(row)
