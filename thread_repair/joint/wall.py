"""What a thin boss costs: the flow stress of its wall and the certified wall factor."""

import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from .. import tables
from ..arrays import FloatArray, Floats, broadcast, plain, positive, positive_or_infinite
from ..strength.collapse.wall_factor import (
    REFERENCES,
    SUPPORTS,
    face_bearing,
    wall_coefficient,
    wall_factor,
)
from .records import Joint

#: Range of the table: boss and engagement over the major diameter of the hole tapped.
BOSS_RANGE = (1.2, 3.0)
ENGAGEMENT_RANGE = (0.5, 3.0)
#: Engagements the load is followed over, fine beside the rows of the table.
_ENGAGEMENTS = np.linspace(*ENGAGEMENT_RANGE, 251)
_ENGAGEMENTS.flags.writeable = False
#: A wall is said to cost nothing where the certified upper bound of a boss this much smaller is
#: still 1: the table's upper bounds are the greatest of several pitches, and other pitches lose
#: strength up to this much further out.
_PITCHES_DIFFER = 0.02
#: Of a material whose shear strength is 1 in one whose yield criterion is von Mises'.
_MISES = math.sqrt(3.0)


def flow_stress(shear: ArrayLike, tensile: ArrayLike, yield_: ArrayLike) -> Floats:
    """Stress at which a boss wall gives way, MPa.

    The rule for everything that is certified or worked out here, in one place:

    - A thread in a thick wall is sheared. The area formula takes the shear strength, its certified
      bounds the flow stress of the same shear strength by von Mises, sqrt(3) x shear strength.
    - A wall is stretched or pressed. It takes the mean of yield and tensile strength, between the
      stress at which it widens and lets go of the threads and the one at which it tears, but
      never more than sqrt(3) x shear strength, so that it is not stronger than its own thread.
    - A boss is both: thread and wall each with its own, the wall counting by flow stress x area
      (`certified_wall_factor`), and the pull-out strength is never above the load of the wall.

    sqrt(3) x shear strength alone would carry the wall of grey iron, zinc and most castings at up
    to twice the tensile strength. Where the yield strength is not known (NaN) the least ratio of
    yield to tensile strength of the known parents stands in, so that not knowing never flatters;
    a yield strength above the tensile strength, which a measured value can leave, is cut to it.

    Source: the mean is common practice, no published source; sqrt(3) is that of von Mises.

    Parameters
    ----------
    shear, tensile, yield_ : array_like, MPa
        Broadcast. The shear strength may be infinite: then the mean alone counts.

    Returns
    -------
    float or ndarray, MPa

    Raises
    ------
    InputError
        If one is not above zero, or another than the shear strength is infinite.

    Examples
    --------
    6061-T6, 27, 42 and 35 ksi; the mean is below sqrt(3) x 186:

    >>> print(f"{flow_stress(186.2, 289.6, 241.3):.1f}")
    265.5
    """
    (tau,) = positive_or_infinite(shear=shear)
    Rm, own = positive(tensile=tensile, yield_=yield_)
    broadcast(shear=tau, tensile=Rm, yield_=own)
    known = np.where(np.isnan(own), yield_over_tensile_least() * Rm, own)
    return plain(np.minimum((Rm + np.minimum(known, Rm)) / 2, _MISES * tau))


def yield_over_tensile_least() -> float:
    """Yield over tensile strength that stands in for a yield strength that is not known.

    Returns
    -------
    float
    """
    return tables.constant("yield_over_tensile_least").value


def certified_wall_factor(
    joint: Joint,
    state: str,
    hole_major: float,
    length: ArrayLike,
    *,
    shear: ArrayLike | None = None,
    flow: ArrayLike | None = None,
    bound: str = "lower",
) -> FloatArray | None:
    """Wall factor of one state by the table of certified bounds; None without a boss.

    The lower bound where the wall may cost strength, 1 where it does not, NaN for a boss below
    the table. A longer thread holds at least what a shorter one does, since its further threads
    may carry nothing; so the load never falls with the engagement. A thread shorter than the
    table loses less than its first value says; one longer than it is given no more load.

    The table is that of one flow stress for thread and wall. Where the wall's is lower, the boss
    counts as the smaller one whose wall carries as much at the thread's; below the table's least
    boss the load falls with the area of the wall. On its face a boss bears outside the clearance
    hole of the clamped part, of up to `clearance_over_major` screw diameters.

    Parameters
    ----------
    joint : Joint
    state : "original" or "repaired"
    hole_major, length : mm
        Of the hole tapped; engaged length, broadcast with the stresses.
    shear, flow : array_like, MPa
        Shear strength and flow stress of another parent than the joint's.
    bound : "lower" or "upper"
        What is certain to be left, or what is certain not to be exceeded.

    Returns
    -------
    ndarray or None
    """
    if joint.boss_diameter is None:
        return None
    tau, stress, engaged = np.broadcast_arrays(
        joint.parent_shear.value if shear is None else shear,
        joint.flow_stress.value if flow is None else flow,
        np.asarray(length, dtype=np.float64),
    )
    share = np.minimum(stress / (_MISES * tau), 1.0)
    factor = np.full(engaged.shape, np.nan)
    for one in np.unique(share[~np.isnan(share)]):
        load = _load(joint, state, hole_major, float(one), bound)
        at = share == one
        within = np.maximum(engaged[at] / hole_major, ENGAGEMENT_RANGE[0])
        factor[at] = np.interp(within, _ENGAGEMENTS, load) / within  # holds the last load beyond
    return factor


def certified_wall_factors(
    joint: Joint,
    support: str,
    state: str,
    hole_major: float,
    length: float,
    boss: ArrayLike,
    bound: str,
) -> FloatArray:
    """Certified wall factor of one state in bosses of other diameters, held in another way.

    Parameters
    ----------
    joint : Joint
    support : "base" or "face"
    state : "original" or "repaired"
    hole_major, length : float, mm
        Of the hole tapped; engaged length.
    boss : array_like, shape (n,), mm
    bound : "lower" or "upper"

    Returns
    -------
    ndarray, shape (n,)
        By the same rule as `certified_wall_factor`, so that a curve passes through the joint's.
    """
    others = (
        replace(joint, boss_diameter=float(d), boss_support=support) for d in np.asarray(boss)
    )
    return np.array(
        [certified_wall_factor(each, state, hole_major, length, bound=bound) for each in others]
    )


def _load(joint: Joint, state: str, hole_major: float, share: float, bound: str) -> FloatArray:
    """Strip load over that of one major diameter in a thick wall, at `_ENGAGEMENTS`."""
    assert joint.boss_diameter is not None
    actual = joint.boss_diameter / hole_major
    if actual < BOSS_RANGE[0]:
        return np.full(len(_ENGAGEMENTS), np.nan)
    found = []
    for support in _supports(joint):
        whole = _kept(state, support, math.sqrt(1 + share * (actual**2 - 1)), bound)
        # No clearance hole adds load.
        if bound == "lower" and (bearing := _bearing(joint, support, hole_major)) > 1:
            # Short engagements lose by the lever arm, long ones by the area that bears.
            whole = whole * face_bearing(actual)
            smaller = math.sqrt(1 + share * (actual**2 - bearing**2))
            found.append(_kept(state, support, smaller, bound))
        found.append(whole)
    return np.maximum.accumulate(np.minimum.reduce(found) * _ENGAGEMENTS)


@lru_cache(maxsize=1024)
def _kept(state: str, support: str, boss: float, bound: str) -> FloatArray:
    """Share of the strip load that a boss of a diameter over the hole's keeps."""
    tabled = min(max(boss, BOSS_RANGE[0]), BOSS_RANGE[1])
    thinner = min(1.0, (boss**2 - 1) / (tabled**2 - 1))
    kept = wall_factor(tabled, support, state, engagement_over_major=_ENGAGEMENTS, bound=bound)
    smaller = tabled * (1 - _PITCHES_DIFFER)
    if smaller >= BOSS_RANGE[0]:
        upper = wall_factor(
            smaller, support, state, engagement_over_major=_ENGAGEMENTS, bound="upper"
        )
        kept = np.where(upper >= 1, 1.0, kept)
    return thinner * np.asarray(kept)


def _supports(joint: Joint) -> tuple[str, ...]:
    return SUPPORTS if joint.boss_support == "unknown" else (joint.boss_support,)


def held_either_way(joint: Joint) -> tuple[Joint, ...]:
    """Return the joint with its boss held in each way; none where that is known, or no boss given.

    Of either condition the less favourable way counts, and of the two that may be another one: a
    comparison of both conditions has to hold in each.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    tuple of Joint
    """
    if joint.boss_diameter is None or joint.boss_support != "unknown":
        return ()
    return tuple(replace(joint, boss_support=each) for each in SUPPORTS)


def _bearing(joint: Joint, support: str, hole_major: float) -> float:
    """Diameter over the hole's from which the wall is held: on the face outside the clearance."""
    clearance = tables.constant("clearance_over_major").value * joint.thread.major
    return 1.0 if support == "base" else max(1.0, clearance / hole_major)


def boss_hold(joint: Joint, hole_major: float) -> tuple[float, float]:
    """Certified coefficient of the wall of a boss, and from which diameter, mm, it is held.

    Where it is not known how the boss is held, those of the support that carries less.

    Parameters
    ----------
    joint : Joint
    hole_major : float, mm

    Returns
    -------
    tuple of float, mm
    """
    assert joint.boss_diameter is not None
    found = (
        (wall_coefficient(each), _bearing(joint, each, hole_major) * hole_major)
        for each in _supports(joint)
    )
    return min(found, key=lambda hold: _held(joint.boss_diameter or 0.0, hole_major, *hold))


def boss_wall_factor(joint: Joint, hole_major: float) -> float:
    """Share of flow stress times wall area that a boss wall is certain to carry.

    Parameters
    ----------
    joint : Joint
    hole_major : float, mm

    Returns
    -------
    float
        NaN where nothing holds it.
    """
    if joint.boss_diameter is None:
        return 1.0
    # A boss within the clearance hole is held nowhere: no rule covers it.
    return _held(joint.boss_diameter, hole_major, *boss_hold(joint, hole_major)) or math.nan


def _held(boss: float, hole_major: float, coefficient: float, diameter: float) -> float:
    held = (boss**2 - diameter**2) / (boss**2 - hole_major**2) if boss > diameter else 0.0
    return coefficient * held


def references(joint: Joint) -> tuple[tables.Reference, ...]:
    """Where the wall factor comes from, if there is a boss.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    tuple of Reference
    """
    if joint.boss_diameter is None:
        return ()
    if joint.boss_support == "base":
        return REFERENCES
    return (*REFERENCES, tables.constant("clearance_over_major").reference)
