"""The conclusion and the criteria behind it, as the first page of every report shows them."""

from __future__ import annotations

from IPython.display import Markdown

from ... import words
from ...facts import Quantity, Term, Value
from ...study import Criterion, Study
from .. import escape
from ..figure import ReportTable


def conclusion(study: Study) -> Markdown:
    """The conclusion in bold, then whether the repair is adequate and as strong as before."""
    system = study.case.report_units
    first, *rest = (
        escape.markdown(words.sentence(each, system=system)) for each in study.statements
    )
    return Markdown(f"**{first}** {' '.join(rest)}")


def criteria_table(study: Study) -> ReportTable:
    """Every criterion with what is required, what is there, and whether it is met."""
    system = study.case.report_units
    return ReportTable(
        ["", "Criterion", "Required", "Repaired", "Original", "Met"],
        [(str(number), *_row(each, system)) for number, each in enumerate(study.criteria, start=1)],
        caption="Criteria",
        label="criteria",
        alignment=["right", "left", "left", "right", "right", "left"],
    )


def _row(each: Criterion, system: str) -> tuple[str, str, str, str, str]:
    name = Term("criterion", each.id)

    def cell(form: str, value: Quantity | None) -> str:
        if value is None:
            return "–"
        return words.filled(words.term(name, form), {"value": value}, system=system)

    known: dict[str, Value] = dict(each.values)
    if each.required is not None:
        known["required"] = each.required
    return (
        words.filled(words.term(name, "title"), known, system=system),
        words.filled(words.term(name, each.asks), known, system=system) if each.asks else "–",
        cell("value", each.repaired),
        cell("value", each.original),
        _met(each),
    )


def _met(each: Criterion) -> str:
    after, before = (_met_words(met, each.decides) for met in (each.met, each.met_before))
    differs = each.met_before is not None and each.met_before != each.met
    return f"{after} (original: {before})" if differs else after


def _met_words(met: bool | None, decides: bool) -> str:
    name = "unknown" if met is None else "yes" if met else "no" if decides else "condition"
    return words.term(Term("met", name))
