"""What a study is called in words, and how a notebook shows it: conclusion and criteria."""

from __future__ import annotations

import html
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

from .. import words
from ..alternatives import Alternative
from ..facts import Quantity, Term, Value, fact
from ..joint.margins import CERTIFIED, Margin, least_by_state
from .criteria import Criterion

if TYPE_CHECKING:
    from .record import Study

#: Heads of the columns of `criterion_row`.
CRITERIA = ("Criterion", "Required", "Repaired", "Original", "Met")


def page(study: Study) -> str:
    """Return conclusion and criteria as HTML, every text escaped.

    Parameters
    ----------
    study : Study

    Returns
    -------
    str
    """
    system = study.case.report_units
    first, *rest = (html.escape(words.sentence(each, system=system)) for each in study.statements)
    rows = [
        _row("td", (str(number), *criterion_row(each, system)))
        for number, each in enumerate(study.criteria, start=1)
    ]
    return (
        f"<p><strong>{first}</strong> {' '.join(rest)}</p>"
        f"<table><thead>{_row('th', ('No.', *CRITERIA))}</thead>"
        f"<tbody>{''.join(rows)}</tbody></table>"
        f"<p>{html.escape(words.sentence(fact('does_not_authorise', 'caution')))}</p>"
    )


def _row(tag: str, cells: Iterable[str]) -> str:
    inner = "".join(
        f'<{tag} style="text-align: left">{html.escape(cell)}</{tag}>' for cell in cells
    )
    return f"<tr>{inner}</tr>"


def criterion_row(each: Criterion, system: str) -> tuple[str, str, str, str, str]:
    """Name a criterion, what it requires, what is there, and whether it is met.

    Parameters
    ----------
    each : Criterion
    system : str

    Returns
    -------
    tuple[str, str, str, str, str]
    """
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
    after = _met_words(each.met, each.decides)
    if each.met_before is None or each.met_before == each.met:
        return after
    return f"{after} (original: {_met_words(each.met_before, decides=True)})"


def _met_words(met: bool | None, decides: bool) -> str:
    name = "unknown" if met is None else "yes" if met else "no" if decides else "condition"
    return words.term(Term("met", name))


def margin_term(margin: Margin) -> Term:
    """Return the name of a failure mode under what it is held against.

    Parameters
    ----------
    margin : Margin

    Returns
    -------
    Term
    """
    against = "certified" if margin.against == CERTIFIED else margin.against
    return Term("margin", f"{margin.mode}_{against}")


def least_margins(margins: Iterable[Margin]) -> dict[str, dict[str, Margin]]:
    """Return the minimum margin of each failure mode by condition, the smallest first.

    Parameters
    ----------
    margins : iterable of Margin

    Returns
    -------
    dict[str, dict[str, Margin]]
    """
    by_mode: dict[str, list[Margin]] = {}
    for margin in margins:
        by_mode.setdefault(margin_term(margin).id, []).append(margin)
    least = {mode: least_by_state(found) for mode, found in by_mode.items()}

    def smallest(of_mode: dict[str, Margin]) -> float:
        found = [each.margin for each in of_mode.values()]
        return -math.inf if any(map(math.isnan, found)) else min(found)

    return dict(sorted(least.items(), key=lambda item: smallest(item[1])))


def option_name(option: Alternative, system: str) -> str:
    """Return an option with its size, for the first column of a table.

    Parameters
    ----------
    option : Alternative
    system : str

    Returns
    -------
    str
    """
    title = words.term(Term("option", option.kind), "title")
    if option.size is None:
        return title
    return f"{title}: {words.sentence(option.size, system=system)}"
