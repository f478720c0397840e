"""How a notebook shows a study: conclusion and criteria as a page, its records as tables."""

from __future__ import annotations

import html
import math
from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

from .. import words
from ..alternatives import Alternative
from ..facts import Fact, Quantity, Term, Value, fact
from ..frames import frame
from ..joint.bounds import Bracket
from ..joint.lengths import RequiredLength
from ..joint.margins import CERTIFIED, LoadCase, Margin, least_by
from ..joint.records import BudgetStep, Effect, ModeResult
from .conclusion import MethodLoad
from .criteria import Criterion

if TYPE_CHECKING:
    import pandas as pd

    from .record import Study


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

    def said(found: Iterable[Fact]) -> str:
        return " ".join(html.escape(words.sentence(each, system=system)) for each in found)

    first, *rest = study.statements
    heads = (each.split(" |")[0] for each in words.catalogue()["tables"]["criteria"]["columns"])
    rows = [
        _row("td", (str(number), *criterion_row(each, system)))
        for number, each in enumerate(study.criteria, start=1)
    ]
    warned = f"<p>{said(study.warned)}</p>" if study.warned else ""
    return (
        f"<p><strong>{said([first])}</strong> {said((*rest, *study.agreed_first))}</p>"
        f"<table><thead>{_row('th', heads)}</thead>"
        f"<tbody>{''.join(rows)}</tbody></table>"
        f"{warned}<p>{open_heading(study)} {said(study.open_besides)}</p>"
        f"<p>{said([fact('does_not_authorise', 'caution')])}</p>"
    )


def open_heading(study: Study) -> str:
    """Return what stands before the open points: a final report has been issued.

    Parameters
    ----------
    study : Study

    Returns
    -------
    str
    """
    return "Open." if study.case.status == "final" else "Open before issue as final."


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


def least_margins(study: Study) -> dict[str, dict[str, Margin]]:
    """The minimum margin of each failure mode by condition, the smallest first.

    Parameters
    ----------
    study : Study

    Returns
    -------
    dict[str, dict[str, Margin]]
    """
    least: dict[str, dict[str, Margin]] = {}
    for margin in least_by(study.margins, "mode", "against", "state").values():
        least.setdefault(margin_term(margin).id, {})[margin.state] = margin

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


class Tables:
    """The tables of a study: `study.tables.margins` and others, each a DataFrame of its own.

    Where the hole as found does not take the insert, none has a strength of the repaired condition.

    Examples
    --------
    >>> import thread_repair as tr
    >>> study = tr.study(tr.read({"thread": "M8", "screw": "8.8", "parent": "6061-T6",
    ...                           "engagement": "1 D", "insert_length": "1.5 D"}))
    >>> list(study.tables.budget)
    ['state', 'step', 'mm']
    >>> modes = study.tables.modes.query("primary and state == 'repaired'")
    >>> modes.sort_values("capacity_N").capacity_N.round(-2).tolist()[:2]
    [29300.0, 41900.0]
    """

    def __init__(self, study: Study) -> None:
        self._study = study

    def __repr__(self) -> str:
        return f"Tables({', '.join(name for name in dir(self) if not name.startswith('_'))})"

    @property
    def criteria(self) -> pd.DataFrame:
        """What decides: required, repaired and original value in `unit`, and whether it is met."""
        return frame(Criterion, self._study.criteria)

    @property
    def margins(self) -> pd.DataFrame:
        """Every margin of safety: capacity over demand with all factors, N, less 1."""
        return frame(Margin, self._study.margins)

    @property
    def load_cases(self) -> pd.DataFrame:
        """Every load that the joint is held against, N, and the demand that its factors make."""
        return frame(LoadCase, self._study.load_cases)

    @property
    def modes(self) -> pd.DataFrame:
        """Every failure mode by every method: area, mm2, stress, MPa, factor, capacity, N."""
        return self._by_state(ModeResult, "modes", self._assessed)

    @property
    def methods(self) -> pd.DataFrame:
        """Strip load of the parent's thread by every published method, N."""
        table = frame(MethodLoad, self._study.methods)
        if not self._study.holds_insert:
            table[["repaired_N", "repaired_margin", "ratio"]] = math.nan
        return table

    @property
    def required(self) -> pd.DataFrame:
        """Length at which the screw fails first, by condition and method, mm."""
        found = (each for each in self._study.required if each.state in self._assessed)
        return frame(RequiredLength, found)

    @property
    def budget(self) -> pd.DataFrame:
        """From the nominal to the engaged length, step by step, mm."""
        return self._by_state(BudgetStep, "budget", self._study.evaluation.states)

    @property
    def effects(self) -> pd.DataFrame:
        """Factors of the ratio of pull-out strengths."""
        table = frame(Effect, self._study.evaluation.effects)
        return table if self._study.holds_insert else table.assign(ratio=math.nan)

    @property
    def bounds(self) -> pd.DataFrame:
        """Certified bounds of the strip load in a thick wall beside the area formula, N."""
        return frame(Bracket, [self._study.brackets[each] for each in self._assessed])

    @property
    def alternatives(self) -> pd.DataFrame:
        """Every option of a repair: strengths, N, sizes, mm, and how it is assessed."""
        return frame(Alternative, self._study.alternatives)

    @property
    def _assessed(self) -> Collection[str]:
        """The conditions that have a strength."""
        return self._study.evaluation.states if self._study.holds_insert else ("original",)

    def _by_state(self, kind: type, name: str, of: Collection[str]) -> pd.DataFrame:
        states = [self._study.evaluation.states[each] for each in of]
        pairs = [(found.state, each) for found in states for each in getattr(found, name)]
        return frame(kind, [each for _, each in pairs], state=[state for state, _ in pairs])
