"""Rigorous bounds on the strip load of a joint: what is certain, and how far the formula errs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np

from .. import tables
from ..errors import GeometryError
from ..threads import Thread
from .records import Joint, StateResult, StateSizes

TABLE = "collapse_check.csv"
#: Upper bounds are rounded up to this share of the formula: what a mesh finds below it, a few
#: parts in ten thousand of threads that the shear cylinder bounds, is its own accident. The
#: cylinder is a possible motion of every thread, so that the formula itself bounds them all.
_STEP = 0.001
#: Sizes that agree to the micrometre are the same sizes.
_DIGITS = 3


class Sizes(NamedTuple):
    """What the ratio of bound to formula depends on: mm, and the flank angle in degrees."""

    screw_major: float
    hole_minor: float
    hole_pitch_diameter: float
    hole_major: float
    pitch: float
    flank_angle: float

    @classmethod
    def of(cls, thread: Thread, at: StateSizes) -> Sizes:
        """Return those of a condition of a joint."""
        major, angle = at.hole_major, thread.flank_angle
        return cls(at.crest, at.hole_minor, at.hole_pitch, major, thread.pitch, angle)

    @classmethod
    def read(cls, row: Mapping[str, str]) -> Sizes:
        """Return those of a row of the table."""
        columns = [*(f"{name}_mm" for name in cls._fields[:-1]), "flank_angle_deg"]
        return cls(*(float(row[column]) for column in columns))

    @property
    def key(self) -> Sizes:
        """The same to the digits that tell sizes apart."""
        return Sizes(*(round(size, _DIGITS) for size in self))


@dataclass(frozen=True, slots=True, kw_only=True)
class Bracket:
    """Certified bounds on the strip load of one state in a thick wall, N, beside the formula.

    Attributes
    ----------
    lower, upper : NaN where no bound passed its certificate
    formula : the area formula without factors
    counted : what the verdict takes of it: no more than a certified upper bound
    minimum : the lower bound with the verdict's factors for boss and bending
    tabled : whether the bracket was looked up or worked out now
    """

    state: str
    lower: float
    upper: float
    formula: float
    counted: float
    minimum: float
    within: bool
    tabled: bool
    references: tuple[tables.Reference, ...]

    @property
    def excess(self) -> tuple[float, float]:
        """By how much the formula may exceed the true load: at least, at most (lower bound)."""
        return max(self.formula / self.upper - 1, 0.0), self.formula / self.lower - 1


def bracket(joint: Joint, state: StateResult) -> Bracket:
    """Return the bracket of the parent's strip load, in a thick wall, without factors.

    The flow stress is the one whose shear yield stress is the parent's shear strength, so that
    bounds and formula are compared on equal terms. Sizes that no table holds are solved, about a
    second, and kept.

    Parameters
    ----------
    joint : Joint
    state : StateResult

    Returns
    -------
    Bracket
    """
    sizes = Sizes.of(joint.thread, state.sizes)
    known = _table().get(sizes.key)
    lower, upper, references = known or _worked_out(sizes)
    mode, bearing = state.mode("parent_thread_strip"), state.mode("flank_bearing")
    formula, overlap = mode.area * mode.stress, mode.factors["overlap"]
    if np.isfinite(upper):
        upper = min(math.ceil(upper / _STEP) * _STEP, 1.0)
    return Bracket(
        state=state.state,
        lower=lower * formula,
        upper=upper * formula,
        formula=formula,
        counted=min(formula * overlap, bearing.area * bearing.stress),
        minimum=lower * mode.capacity / overlap,
        within=lower <= 1 <= upper,
        tabled=known is not None,
        references=references,
    )


@cache
def _table() -> Mapping[Sizes, tuple[float, float, tuple[tables.Reference, ...]]]:
    """Bounds over the formula by sizes, of joints worked out in advance."""
    return {
        Sizes.read(row).key: (
            float(row["lower_over_formula"]),
            float(row["upper_over_formula"]),
            (tables.reference(row, "certified bounds on the strip load"),),
        )
        for row in tables.rows(TABLE)
    }


@lru_cache(maxsize=1024)
def _worked_out(sizes: Sizes) -> tuple[float, float, tuple[tables.Reference, ...]]:
    """Bounds over the formula, solved now."""
    from ..strength.collapse.bounds import cell_bounds
    from ..strength.collapse.certificate import NotCertifiedError

    major = max(sizes.hole_major, sizes.screw_major)
    try:
        found = cell_bounds(**sizes._replace(hole_major=major)._asdict())
    except (NotCertifiedError, GeometryError):
        return math.nan, math.nan, ()
    return found.lower / found.formula, found.upper / found.formula, tables.cited("bounds")
