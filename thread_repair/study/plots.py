"""The pictures of a study as matplotlib axes, in the units of its report.

Imported on use: it imports matplotlib. pyplot is not used, so that no picture outlives its study.
"""

import math
from collections.abc import Sequence
from typing import Any, TypeVar

import numpy as np
from matplotlib.axes import Axes

from .. import inserts, tables, words
from ..errors import InputError
from ..facts import Term, fact
from ..figures.certainty import load_distributions, wall_factor_by_boss
from ..figures.cut import CutHole
from ..figures.decision import margins_by_mode, options_side_by_side
from ..figures.section import HEIGHT, length_words, section
from ..figures.sharing import load_against_travel, load_per_thread
from ..figures.strip_load import strip_load_against_length, strip_load_by_method
from ..joint import Joint, StateResult
from ..joint.lengths import thread_begin
from ..joint.sharing import not_assessed
from .record import Study
from .shown import option_name

Drawn = TypeVar("Drawn", Axes, Sequence[Axes])
#: Triangle height over pitch and depth of the screw's root below its major diameter in triangle
#: heights: 17/24 (ISO 68-1 with rounded root), 2/3 (BS 84).
_ROOT = {"whitworth": (0.960491, 2 / 3)}
_ROOT_60 = (math.sqrt(3) / 2, 17 / 24)
_NOT_THERE = words.sentence(fact("in_sound_metal", "limit"))


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
        self._in: dict[str, Any] = {"system": study.case.report_units}

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
        note = (
            f"threads at basic size, shear cylinders at {position}; insert at its deepest set-down"
        )
        if not self._study.holds_insert:
            note += f"\n{_NOT_THERE}"
        return section(hole_sections(self._study), note=note, height=height, ax=ax, **self._in)

    def strip_load(self, ax: Axes | None = None) -> Axes:
        """Thread-stripping strength of both conditions against the nominal length.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes
        """
        return self._told(strip_load_against_length(self._study, ax))

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
        least = self._study.least_margins
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
        names = [option_name(each, **self._in) for each in self._study.alternatives]
        return options_side_by_side(self._study, names, ax)

    def methods(self, ax: Axes | None = None) -> Axes:
        """Strip load of the parent's thread by every method that has a value in both conditions.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes
        """
        return self._told(strip_load_by_method(self._study, ax))

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
        if told := not_assessed(self._study.evaluation.joint):
            raise InputError(f"sharing: none. {words.sentence(told)}")
        return self._told(load_per_thread(self._study, ax))

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
        return self._told(load_against_travel(self._study, ax))

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
            holes[name] = (major, state.engagement / major)
        return self._told(wall_factor_by_boss(holes, joint=evaluation.joint, ax=ax, **self._in))

    def loads(self, ax: Axes | None = None) -> Axes:
        """Strip loads and breaking load of the screw of many sampled joints.

        Parameters
        ----------
        ax : Axes, optional

        Returns
        -------
        Axes
        """
        return self._told(load_distributions(self._study, ax))

    def _told(self, drawn: Drawn) -> Drawn:
        """Have a picture say, without its caption too, that its insert stands in no metal."""
        if not self._study.holds_insert:
            last: Axes = np.ravel(np.asarray(drawn, dtype=object))[-1]
            told = _NOT_THERE.replace(", ", ",\n")  # a panel is narrow
            last.set_xlabel(f"{last.get_xlabel()}\n{told}".lstrip())
        return drawn


def hole_sections(study: Study) -> tuple[CutHole, CutHole]:
    """Return what the section drawing shows of the original and of the repaired hole.

    Parameters
    ----------
    study : Study

    Returns
    -------
    tuple of CutHole
    """
    case, joint = study.case, study.evaluation.joint
    original, repaired = study.evaluation.original, study.evaluation.repaired
    thread, down = joint.thread, joint.set_down_max
    enlarged = inserts.enlarged_diameters(thread)
    shortening = tables.constant("insert_fitted_shortening_max").value * thread.pitch
    length = length_words(joint.insert_length, "inch" if case.report_units == "inch" else "SI")
    through = case.hole_kind == "through"
    return (
        CutHole(
            title="original thread",
            subtitle=thread.designation,
            **_common(joint, original),
            # The insert hole carries the same profile on a larger diameter.
            minor=enlarged.minor - (enlarged.major - thread.major),
            full_thread=joint.engagement,
            incomplete=_incomplete("bottoming"),
            drilled=math.inf if through else math.nan,
            coil=(math.nan, math.nan),
            engaged=(0.0, original.engagement),
        ),
        CutHole(
            title="repaired thread",
            subtitle=f"insert {thread.designation}, {length}",
            **_common(joint, repaired),
            minor=enlarged.minor,
            full_thread=float(inserts.full_thread_min(thread, joint.insert_length)),
            incomplete=_incomplete(case.tap),
            drilled=math.inf if through else _unknown(case.hole_depth),
            coil=(down, down + joint.insert_length - shortening),
            engaged=(thread_begin(joint), thread_begin(joint) + repaired.engagement),
        ),
    )


def _incomplete(tap: str) -> float:
    """Pitches of incomplete thread that a tap leaves."""
    return tables.constant(f"insert_tap_incomplete_{tap}").value


def _unknown(value: float | None) -> float:
    return math.nan if value is None else value


def _common(joint: Joint, state: StateResult) -> dict[str, float]:
    height, root = _ROOT.get(joint.thread.system, _ROOT_60)
    return {
        "pitch": joint.thread.pitch,
        "half_angle": joint.thread.flank_angle / 2,
        "screw_major": joint.thread.major,
        "screw_root": joint.thread.major - 2 * root * height * joint.thread.pitch,
        "major": state.sizes.hole_major,
        "shear_cylinder": state.sizes.crest,
        "reach": _unknown(joint.screw_reach),
        "boss": _unknown(joint.boss_diameter),
        "edge": _unknown(joint.edge_distance),
        "thickness": _unknown(joint.part_thickness),
    }
