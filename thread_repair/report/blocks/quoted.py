"""Every source that a design review quotes, beyond those of the verdict."""

from __future__ import annotations

from dataclasses import replace

from ... import tables
from ...alternatives import dispositions
from ...joint import Evaluation
from ...sources import ledger
from ...strength.methods import METHODS
from ...strength.sharing.statements import published_statements


def with_every_source(evaluation: Evaluation) -> Evaluation:
    """Return the evaluation with the sources of all that stands beside its verdict.

    They are those of the rival methods, of the statements on load sharing, of the dispositions
    of the trade and of the points on which sources disagree.
    """
    return replace(
        evaluation,
        references=ledger(
            (
                *evaluation.references,
                *(reference for method in METHODS.values() for reference in method.references),
                *(statement.reference for statement in published_statements()),
                *(each.reference for each in dispositions().values()),
                *(
                    tables.reference(row, row["issue"].lower())
                    for row in tables.rows("disagreements.csv")
                ),
            )
        ),
    )
