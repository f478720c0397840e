"""How much of the strip load is left in a boss, from a table of certified bounds.

The table holds the bounds of bosses over the load of the area formula, by the ratios of boss
diameter and engagement to the major diameter of the hole that is actually tapped (for an insert
hole that of the insert hole). Each row is an envelope over several pitches. Perfect plasticity:
strain hardening and rupture are not in it. The pitch hardly matters and the hole's size only
through these ratios, so that original and repaired differ little at equal ratios: in the same
boss the repair stands lower on the curve.

The published curve C1 of SAE 770420 knows the boss only, not the length and not the support.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ... import tables
from ...arrays import FloatArray, Floats, plain, positive
from ...errors import check_known
from ..strip import STATES

TABLE = "boss_wall_factor.csv"
BEARING_TABLE = "face_bearing.csv"
#: What holds the boss.
SUPPORTS = ("base", "face")
#: Sides of the bracket.
BOUNDS = ("lower", "upper")

REFERENCES = tables.cited("wall_factor")

#: Strip area over (pi x major diameter x length) of the basic 60 degree profile, whose ridge is
#: 7/8 of the pitch thick at the major diameter (ISO 68-1).
_BASIC_THICKNESS = 7 / 8
#: The wall governs where the strip load is this many times flow stress x wall area.
_WALL_GOVERNS = 1.3
#: Least engagement over major diameter for which `wall_coefficient` is claimed.
WALL_CAP_ENGAGEMENT_MIN = 1.0


def wall_factor(
    boss_over_major: ArrayLike,
    support: str,
    state: str,
    *,
    engagement_over_major: ArrayLike = 1.0,
    bound: str = "lower",
) -> Floats:
    """Certified collapse load of a boss over the load of the area formula.

    Parameters
    ----------
    boss_over_major : array_like
        Outside diameter of the boss over the major diameter of the hole actually tapped; the
        table reaches from 1.2 to 3.
    support : "base" or "face"
        base: the wall is in tension; face: in compression, as in a nut, and bearing from the
        hole's major diameter outwards. Where the clamped part's clearance hole is wider than the
        tapped hole, as it is for an original thread, a thin boss carries less on its face: see
        `face_bearing`.
    state : "original" or "repaired"
        repaired: through the insert's wire as deformable rings three times as strong as the
        parent; a stronger wire changes nothing, a weaker one lowers the load
        (`cell_bounds(coil=...)`).
    engagement_over_major : array_like
        Engaged length over the same diameter; the table reaches from 0.5 to 3.
    bound : "lower" or "upper"
        The lower bound lies up to 5 % below 1 even in a thick wall: that is the gap of the
        method, not a loss of strength.

    Returns
    -------
    float or ndarray
        NaN outside the table and for NaN. Between the rows the load is taken linear in the square
        of the boss diameter, that is in the wall's area. Between two engagements the lower bound
        is linear in the load, which rises ever more slowly, so that this is its safe side (by up
        to 6 % where one failure gives way to the other); the
        upper bound is the lesser of the longer one's load and the shorter one's load per length.

    Raises
    ------
    UnknownNameError
        For another support, state or bound.

    Source: derived, certified limit analysis; table `boss_wall_factor.csv`.
    """
    check_known("support", support, SUPPORTS)
    check_known("state", state, STATES)
    check_known("bound", bound, BOUNDS)
    lengths, bosses, values = _grid(state, support, bound)
    boss, engagement = np.broadcast_arrays(
        *positive(boss_over_major=boss_over_major, engagement_over_major=engagement_over_major)
    )
    inside = _within(bosses, boss) & _within(lengths, engagement)
    load = values * lengths[:, None]
    i, u = _place(lengths, np.where(inside, engagement, lengths[0]))
    j, v = _place(bosses**2, np.where(inside, boss, bosses[0]) ** 2)
    shorter, longer = (load[k, j] * (1 - v) + load[k, j + 1] * v for k in (i, i + 1))
    length = np.where(inside, engagement, 1.0)
    if bound == "lower":
        value = (shorter * (1 - u) + longer * u) / length
    else:
        value = np.minimum(shorter / lengths[i], np.maximum(shorter, longer) / length)
    return plain(np.where(inside, value, np.nan))


def _within(knots: FloatArray, x: FloatArray) -> NDArray[np.bool_]:
    """Whether a table reaches so far; its limits belong to it even where a ratio rounds off."""
    return (x >= knots[0] * (1 - 1e-12)) & (x <= knots[-1] * (1 + 1e-12))


def _place(knots: FloatArray, x: FloatArray) -> tuple[NDArray[np.intp], FloatArray]:
    index = np.clip(np.searchsorted(knots, x, side="right") - 1, 0, len(knots) - 2)
    return index, (x - knots[index]) / (knots[index + 1] - knots[index])


@cache
def _grid(state: str, support: str, bound: str) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Engagements and bosses over the major diameter, and the factor by both."""
    *both, values = tables.columns(
        TABLE, "engagement_over_major", "boss_over_major", bound, state=state, support=support
    )
    lengths, bosses = map(np.unique, both)
    return lengths, bosses, values.reshape(len(lengths), len(bosses))


def face_bearing(boss_over_major: float) -> float:
    """Share that a clearance hole of 1.15 major diameters leaves of a boss held on its face.

    Parameters
    ----------
    boss_over_major : float
        Outside diameter of the boss over the major diameter of the hole tapped.

    Returns
    -------
    float
        Certified lower bound with the clearance hole over that without, the least of the
        engagements worked out; linear between the bosses, held beyond them.

    Source: derived, certified limit analysis; table `face_bearing.csv`.
    """
    (at,) = positive(boss_over_major=boss_over_major)
    boss, factor = tables.columns(BEARING_TABLE, "boss_over_major", "factor")
    return float(np.interp(at, boss, factor))


@cache
def wall_coefficient(support: str) -> float:
    """Load that the wall of a thin boss carries over flow stress x wall area.

    Parameters
    ----------
    support : "base" or "face"

    Returns
    -------
    float

    Raises
    ------
    UnknownNameError
        For another support.

    Notes
    -----
    However long the engagement: of the wall outside the hole's major diameter. In a long
    engagement the traction on the flanks tends to zero and the wall carries F / area alone: an
    admissible field, so that 1 is a lower bound of the coefficient there. In a short one the
    wedge action of the flanks adds hoop tension, which weakens a wall in compression (face) and
    strengthens one in tension (base). The coefficient is the least certified lower bound over
    flow stress x wall area in the table among the bosses whose wall governs (strip load at least
    1.3 times that product) and whose engagement is at least one major diameter, but not above 1.
    Near the change from one failure to the other the joint is weaker than either: use
    `wall_factor` on the strip load beside it.

    Source: derived, certified limit analysis; table `boss_wall_factor.csv`.
    """
    check_known("support", support, SUPPORTS)
    found = [1.0]
    for state in STATES:
        lengths, bosses, values = _grid(state, support, "lower")
        strip = 4 * _BASIC_THICKNESS / np.sqrt(3) * lengths[:, None]
        strip_over_wall = strip / (bosses**2 - 1)
        governs = (strip_over_wall >= _WALL_GOVERNS) & (lengths[:, None] >= WALL_CAP_ENGAGEMENT_MIN)
        found.append(float((values * strip_over_wall)[governs].min()))
    return float(np.floor(100 * min(found)) / 100)


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallestBoss:
    """The boss from which on the repair is at least as strong as the original thread, mm.

    Attributes
    ----------
    certain : float
        From here on the repair's lower bound is at least the original's upper bound; NaN if
        nowhere in the table's range.
    possible : float
        Below this the original's lower bound is above the repair's upper bound: the repair is
        weaker. NaN if nowhere in the range; the least diameter searched if everywhere.
    searched : (float, float)
        Diameters covered by the table for both holes.
    """

    certain: float
    possible: float
    searched: tuple[float, float]


def smallest_boss_not_weaker(
    majors: tuple[float, float], load: Callable[[str, FloatArray, str], FloatArray]
) -> SmallestBoss:
    """Find the boss from which on the repair holds at least what the original thread held.

    Parameters
    ----------
    majors : (float, float), mm
        Major diameters of the original and the repaired hole, at the same tolerance position.
    load : function
        Of state, outside diameters of bosses in mm, and bound: the strip load in each boss, for
        the same shear strength.

    Returns
    -------
    SmallestBoss

    Notes
    -----
    Steps of 1/120 of the range. The parent is the same, so its shear strength cancels;
    how strong its wall is beside that is in `load`. The table is that of the basic profile; a
    thread loosened within its tolerance strips earlier while the wall stays, so that the factor is
    on the safe side for both states.

    Source: derived, certified limit analysis; table `boss_wall_factor.csv`.
    """
    _, bosses, _ = _grid("original", "base", "lower")
    low, high = max(majors) * float(bosses[0]), min(majors) * float(bosses[-1])
    boss = np.linspace(low, high, 121)
    after, before = (partial(load, state, boss) for state in ("repaired", "original"))
    return SmallestBoss(
        certain=_from_here_on(boss, after("lower") >= before("upper")),
        possible=_from_here_on(boss, after("upper") >= before("lower"), 0),
        searched=(low, high),
    )


def _from_here_on(boss: FloatArray, holds: NDArray[np.bool_], step: int = 1) -> float:
    """Return the first diameter from which on a condition holds; by `step` 0, the last it fails."""
    fails = np.flatnonzero(~holds)
    if len(fails) == 0:
        return float(boss[0])
    return float(boss[fails[-1] + step]) if fails[-1] + 1 < len(boss) else float("nan")
