"""The pictures of a study as matplotlib axes, in the units of its report.

Imported on use: it imports matplotlib. pyplot is not used, so that no picture outlives its study.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes

from .. import words
from ..errors import InputError
from ..facts import Term
from ..figures.bounds import wall_factor_by_boss
from ..figures.chance import load_distributions
from ..figures.decision import margins_by_mode, options_side_by_side, preload_band, ratio_waterfall
from ..figures.section import HEIGHT, section
from ..figures.sharing import load_against_travel, load_per_thread
from ..figures.strip_load import MethodLoads, strip_load_against_length, strip_load_by_method
from ..joint.sharing import not_assessed
from ..joint.wall import ENGAGEMENT_RANGE
from ..strength.methods import METHODS
from .sections import hole_sections
from .shown import least_margins, option_name

if TYPE_CHECKING:
    from .record import Study


class Plots:
    """The pictures of a study: each draws in the axes given, or in those of a new figure.

    Lengths and loads are in the units of the report; where it prints both systems, in SI.

    Examples
    --------
    >>> import thread_repair as tr
    >>> study = tr.study(tr.read({"thread": "M8", "screw": "8.8", "parent": "6061-T6",
    ...                           "engagement": "1 D", "insert_length": "1.5 D"}))
    >>> axes = study.plot.strip_load()
    >>> axes.get_ylabel()
    'load, kN'
    """

    def __init__(self, study: Study) -> None:
        self._study = study
        self._system = study.case.report_units

    def __repr__(self) -> str:
        names = [name for name in dir(self) if not name.startswith("_")]
        return f"Plots({', '.join(names)})"

    def section(self, ax: Axes | None = None, *, height: float = HEIGHT) -> Axes:
        """Both holes cut open, to the same scale, with drilled, tapped and engaged depths.

        Parameters
        ----------
        ax : Axes, optional
            Axes to draw in; the scale printed then holds for a width of 160 mm.
        height : float, mm
            Height of a new sheet, at most.

        Returns
        -------
        Axes
        """
        position = self._study.evaluation.joint.tolerance_position.replace("-", " ")
        return section(
            hole_sections(self._study),
            note=f"threads at basic size, shear cylinders at {position}; insert at its deepest "
            "set-down",
            system=self._system,
            height=height,
            ax=ax,
        )

    def strip_load(self, ax: Axes | None = None) -> Axes:
        """Thread-stripping strength of both conditions against the nominal length.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes
        """
        return strip_load_against_length(
            self._study.evaluation, self._study.sweep, system=self._system, ax=ax
        )

    def margins(self, ax: Axes | None = None) -> Axes:
        """Minimum margin of safety of each failure mode, the smallest first.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes

        Raises
        ------
        InputError
            If the case states no load, torque or preload.
        """
        least = least_margins(self._study.margins)
        if not least:
            raise InputError("margins: none, for the case states no load, torque or preload")
        rows = {
            words.term(Term("margin", mode)): {state: m.margin for state, m in of_mode.items()}
            for mode, of_mode in least.items()
        }
        return margins_by_mode(rows, ax=ax)

    def alternatives(self, ax: Axes | None = None) -> Axes:
        """Thread-stripping strength of every option, and how it is assessed.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes
        """
        named = [(option_name(each, self._system), each) for each in self._study.alternatives]
        return options_side_by_side(named, self._study.evaluation, system=self._system, ax=ax)

    def methods(self, ax: Axes | None = None) -> Axes:
        """Strip load of the parent's thread by every method that has a value in both conditions.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes
        """
        return strip_load_by_method(
            method_loads(self._study), self._study.evaluation, system=self._system, ax=ax
        )

    def effects(self, ax: Axes | None = None) -> Axes:
        """Factors of the ratio of pull-out strengths, repaired over original.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes
        """
        return ratio_waterfall(self._study.evaluation.effects, ax=ax)

    def sharing(self, ax: Sequence[Axes] | None = None) -> Sequence[Axes]:
        """Load of each engaged thread before any of them yields, a panel for each condition.

        Parameters
        ----------
        ax : sequence of two Axes, optional

        Returns
        -------
        sequence of Axes, shape (2,)

        Raises
        ------
        InputError
            If another number of axes is given, or an elastic constant of the parent is not known.
        """
        joint = self._study.evaluation.joint
        if told := not_assessed(joint):
            raise InputError(f"sharing: none. {words.sentence(told)}")
        return load_per_thread(self._study.sharing, joint.thread.pitch, ax=ax)

    def load_slip(self, ax: Axes | None = None) -> Axes:
        """Load against travel of the screw in both conditions, until a thread parts.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes

        Raises
        ------
        InputError
            If the parent has no stress-strain curve.
        """
        found = self._study.load_slip
        if not found.states:
            raise InputError(f"load_slip: none. {words.sentence(found.facts[0])}")
        # The upper bound with the factors that the verdict and the certified minimum carry.
        bounds = {
            name: (each.minimum, each.minimum * each.upper / each.lower)
            for name, each in self._study.brackets.items()
        }
        return load_against_travel(found.states, bounds, system=self._system, ax=ax)

    def wall(self, ax: Sequence[Axes] | None = None) -> Sequence[Axes]:
        """What a boss leaves of the strip load, a panel for each condition.

        Parameters
        ----------
        ax : sequence of two Axes, optional

        Returns
        -------
        sequence of Axes, shape (2,)

        Raises
        ------
        InputError
            If another number of axes is given.
        """
        evaluation = self._study.evaluation
        holes = {}
        for name, state in evaluation.states.items():
            major = state.sizes.hole_major
            holes[name] = (major, float(np.clip(state.engagement / major, *ENGAGEMENT_RANGE)))
        boss = evaluation.joint.boss_diameter
        return wall_factor_by_boss(holes, case_boss=boss, system=self._system, ax=ax)

    def preload(self, ax: Axes | None = None) -> Axes:
        """Ranges of the preload in service against stripping, yield and separation.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes

        Raises
        ------
        InputError
            If the case states neither torque nor preload.
        """
        found = self._study.preloads
        if found is None:
            raise InputError("preload: none, for the case states neither torque nor preload")
        return preload_band(found, self._study.evaluation, system=self._system, ax=ax)

    def loads(self, ax: Axes | None = None) -> Axes:
        """Strip loads and breaking load of the screw of many sampled joints.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes
        """
        case, found = self._study.case, self._study.chances
        factor = found.model.load_factor
        return load_distributions(
            found.simulation.strip,
            found.simulation.screw,
            screw_words=f"screw {case.screw}\nfails",
            load=None if case.design_load is None else case.design_load * factor,
            load_words="limit load" if factor == 1 else "ultimate\ndesign load",
            system=self._system,
            ax=ax,
        )


def method_loads(study: Study) -> list[MethodLoads]:
    """Return the strip loads by method, N, of those that have a value in both conditions.

    Parameters
    ----------
    study : Study

    Returns
    -------
    list[MethodLoads]
    """
    before, after = (
        {each.method: each for each in state.modes if each.mode == "parent_thread_strip"}
        for state in study.evaluation.states.values()
    )
    return [
        MethodLoads(
            name=METHODS[name.removesuffix("_unfactored")].title,
            original=original.capacity,
            repaired=after[name].capacity,
            is_verdict=original.primary,
            in_range=original.valid and after[name].valid,
            comparable=METHODS[name.removesuffix("_unfactored")].for_wire_inserts,
        )
        for name, original in before.items()
        if math.isfinite(original.capacity) and math.isfinite(after[name].capacity)
    ]
