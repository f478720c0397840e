"""The sources that influenced the numbers, and the block that is signed."""

from __future__ import annotations

from IPython.display import Markdown

from ... import sources
from ...case import Case
from ...joint import Evaluation
from ...sources import HOW_KNOWN
from .. import escape
from ..figure import ReportTable, SignOff


def ledger_table(evaluation: Evaluation) -> ReportTable:
    """Every source with the clauses used and how they are known."""
    grouped: dict[tuple[str, str, str], list[str]] = {}
    for reference in evaluation.references:
        key = (reference.source, reference.how_known, reference.clause)
        grouped.setdefault(key, []).append(reference.what)
    rows = [
        (
            f"{sources.source(source).edition}: {sources.source(source).title}"
            if sources.source(source).edition != "-"
            else sources.source(source).title,
            clause,
            "; ".join(dict.fromkeys(what for what in whats if what)),
            how.replace("_", " "),
        )
        for (source, how, clause), whats in grouped.items()
    ]
    return ReportTable(
        ["Source", "Clause", "What it gives", "How known"],
        rows,
        caption="Sources of every number of this report",
        label="sources",
    )


def how_known_passage(evaluation: Evaluation) -> Markdown:
    """How many values are known how, and which recalled ones remain to be confirmed."""
    counts = {how: sum(r.how_known == how for r in evaluation.references) for how in HOW_KNOWN}
    listed = ", ".join(f"{n} {how.replace('_', ' ')}" for how, n in counts.items() if n)
    text = f"Values and formulas used: {listed}."
    recalled = [r for r in evaluation.references if r.how_known == "memory"]
    if recalled:
        text += (
            " Those from memory are to be confirmed in the named document before the report is "
            "made final."
        )
    return Markdown(escape.markdown(text))


def sign_off(case: Case) -> SignOff:
    """The sign-off block: names where the case gives them, room to sign where it does not."""
    return SignOff(
        {
            "Prepared": case.prepared_by,
            "Checked": case.checked_by,
            "Approved": case.approved_by,
        }
    )
