"""The tables of a study as DataFrames, made of its records."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..alternatives import Alternative
from ..frames import frame
from ..joint.bounds import Bracket
from ..joint.margins import LoadCase, Margin
from ..joint.records import BudgetStep, Effect, ModeResult
from ..joint.required import RequiredLength
from .conclusion import MethodLoad
from .criteria import Criterion

if TYPE_CHECKING:
    import pandas as pd

    from .record import Study


class Tables:
    """The tables of a study: `study.tables.margins` and others, each a DataFrame of its own.

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
        """Every margin of safety with its capacity and demand, N."""
        return frame(Margin, self._study.margins)

    @property
    def load_cases(self) -> pd.DataFrame:
        """Every load that the joint is held against, N."""
        return frame(LoadCase, self._study.load_cases)

    @property
    def modes(self) -> pd.DataFrame:
        """Every failure mode by every method: area, mm2, stress, MPa, factor, capacity, N."""
        return self._by_state(ModeResult, "modes")

    @property
    def methods(self) -> pd.DataFrame:
        """Strip load of the parent's thread by every published method, N."""
        return frame(MethodLoad, self._study.methods)

    @property
    def required(self) -> pd.DataFrame:
        """Length at which the screw fails first, by condition and method, mm."""
        return frame(RequiredLength, self._study.required)

    @property
    def budget(self) -> pd.DataFrame:
        """From the nominal to the engaged length, step by step, mm."""
        return self._by_state(BudgetStep, "budget")

    @property
    def effects(self) -> pd.DataFrame:
        """Factors of the ratio of pull-out strengths."""
        return frame(Effect, self._study.evaluation.effects)

    @property
    def bounds(self) -> pd.DataFrame:
        """Certified bounds of the strip load in a thick wall beside the area formula, N."""
        return frame(Bracket, self._study.brackets.values())

    @property
    def alternatives(self) -> pd.DataFrame:
        """Every option of a repair: strengths, N, sizes, mm, and how it is assessed."""
        return frame(Alternative, self._study.alternatives)

    def _by_state(self, kind: type, name: str) -> pd.DataFrame:
        states = self._study.evaluation.states.values()
        pairs = [(found.state, each) for found in states for each in getattr(found, name)]
        return frame(kind, [each for _, each in pairs], state=[state for state, _ in pairs])
