"""Closed forms of the load sharing: checks of the solver, and the length that is of no more use.

x is the length parameter lambda L. `end_share` is the part of the load that enters the shear
layer at the end looked at: 1 at the bearing face of a parent pressed on that face (a nut); for a
parent held beyond the thread, 1 - eta at the bearing face and eta at the screw's end, where
eta = (1/An En) / (1/Ab Eb + 1/An En).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import FloatArray, Floats
from ...errors import InputError
from ...sources import Reference
from .chain import chain_of, member_stiffness
from .distribution import REFERENCES, ToothLaw


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UsefulLength:
    """How far more engagement still helps.

    Attributes
    ----------
    saturation_load : float or ndarray, N
        Strip load of an endless engagement: the first thread parts however many follow.
    length : float or ndarray, mm
        Engagement at which the strip load is `fraction` of that.
    fraction : float
    """

    saturation_load: Floats
    length: Floats
    fraction: float
    references: tuple[Reference, ...] = REFERENCES


def end_intensity(x: ArrayLike, end_share: ArrayLike = 1.0) -> Floats:
    """Line load at one end over the mean line load.

    Parameters
    ----------
    x, end_share : array_like
        See the module.

    Returns
    -------
    float or ndarray
        x (share cosh x + 1 - share) / sinh x; for share 1, x coth x.

    Source: thread-load-distribution-1948 and -1940, memory, for share 1; else derived.

    Examples
    --------
    >>> print(end_intensity([1, 2, 3]).round(4))
    [1.313  2.0746 3.0149]
    """
    x_, a = np.asarray(x, dtype=np.float64), np.asarray(end_share, dtype=np.float64)
    return (x_ * (a / np.tanh(x_) + (1 - a) / np.sinh(x_)))[()]


def remaining_load(depth: ArrayLike, x: ArrayLike, end_share: ArrayLike = 1.0) -> Floats:
    """Part of the load still in the screw at a depth below the bearing face.

    Parameters
    ----------
    depth : array_like
        Depth over engaged length, 0 to 1.
    x, end_share : array_like
        See the module; the share is that of the bearing face.

    Returns
    -------
    float or ndarray

    Source: as `end_intensity`.

    Examples
    --------
    >>> print(f"{1 - remaining_load(1.5 / 8.4, 0.2378 * 8.4):.3f}")
    0.314
    """
    z, x_, a = (np.asarray(v, dtype=np.float64) for v in (depth, x, end_share))
    return ((1 - a) + (a * np.sinh((1 - z) * x_) - (1 - a) * np.sinh(z * x_)) / np.sinh(x_))[()]


def ductility_demand(x: ArrayLike, end_share: ArrayLike = 1.0) -> Floats:
    """Slip of the end thread over its yield slip when all threads have just yielded.

    Parameters
    ----------
    x, end_share : array_like
        See the module; the share is that of the more loaded end.

    Returns
    -------
    float or ndarray
        1 + (share x)^2 / 2.

    Source: derived (load-sharing-model): with a uniform line load the slip is a parabola.

    Examples
    --------
    >>> float(ductility_demand(3.0))
    5.5
    """
    return (1 + (np.asarray(end_share) * np.asarray(x, dtype=np.float64)) ** 2 / 2)[()]


def first_yield_ratio(x: ArrayLike, end_share: ArrayLike = 1.0) -> Floats:
    """Load of first yield over the load with all threads at yield: 1 / `end_intensity`.

    Parameters
    ----------
    x, end_share : array_like
        See the module; the share is that of the more loaded end.

    Returns
    -------
    float or ndarray
        For share 1, tanh(x) / x.

    Source: derived (load-sharing-model).
    """
    return 1 / end_intensity(x, end_share)


def useful_length(
    law: ToothLaw,
    *,
    screw_area: ArrayLike,
    parent_area: ArrayLike,
    screw_modulus: ArrayLike,
    parent_modulus: ArrayLike,
    boundary: str = "compression",
    fraction: float = 0.99,
) -> UsefulLength:
    """Engagement beyond which this parent gains nothing.

    Parameters
    ----------
    law : ToothLaw
    screw_area, parent_area : array_like, mm2
    screw_modulus, parent_modulus : array_like, MPa
    boundary : "compression" | "tension"
    fraction : float
        Part of the endless thread's strip load that counts as all of it.

    Returns
    -------
    UsefulLength
        NaN where the slip at rupture is not known.

    Raises
    ------
    InputError
        fraction outside 0..1, or as `load_slip_curve`.

    Notes
    -----
    s'' = c q(s) integrates once: (s')^2 / 2 = c [W(s) - W(s0)], W the work of a thread per length
    up to slip s and s0 the least slip along the length. At the more loaded end s' = share c F, so
    F = sqrt(2 [W(rupture) - W(s0)] / c) / share, which for an endless thread (s0 = 0) stays
    finite. The length between s0 and the end is then known in closed form as well.

    Source: derived (load-sharing-model).
    """
    if not 0 < fraction < 1:
        raise InputError(f"fraction must lie between 0 and 1, got {fraction:g}")
    one = np.ones(())
    chain = chain_of(
        one,
        one,
        *member_stiffness(screw_area, parent_area, screw_modulus, parent_modulus),
        boundary,
        1,
    )
    c, share = chain.strain, chain.end_share
    parts = _Work(law)
    work = parts.at(parts.rupture)
    with np.errstate(divide="ignore", invalid="ignore"):
        endless = np.sqrt(2 * work / c) / share
        least = parts.slip((1 - fraction**2) * work)
        far = (1 - share) * fraction * endless
        other_end = parts.slip(parts.at(least) + c * far**2 / 2)
        length = parts.arm(least, parts.rupture, c) + parts.arm(least, other_end, c)
    return UsefulLength(saturation_load=endless[()], length=length[()], fraction=fraction)


class _Work:
    """The work of a bilinear thread, its inverse, and the length over which slip builds up."""

    def __init__(self, law: ToothLaw) -> None:
        (compliance, self.load, self.hard, self.yielding, self.rupture) = (
            np.asarray(v, dtype=np.float64)
            for v in (
                law.compliance,
                law.yield_load,
                law.hardening,
                law.yield_slip,
                law.rupture_slip,
            )
        )
        self.stiff = 1 / compliance

    def at(self, slip: FloatArray) -> FloatArray:
        elastic = np.minimum(slip, self.yielding)
        past = np.maximum(slip - self.yielding, 0.0)
        work: FloatArray = self.stiff * elastic**2 / 2 + self.load * past + self.hard * past**2 / 2
        return work

    def slip(self, work: FloatArray) -> FloatArray:
        beyond = np.maximum(work - self.at(self.yielding), 0.0)
        past = 2 * beyond / (self.load + np.sqrt(self.load**2 + 2 * self.hard * beyond))
        return np.minimum(np.sqrt(2 * work / self.stiff), self.yielding) + past

    def arm(self, least: FloatArray, end: FloatArray, c: FloatArray) -> FloatArray:
        """Length along which the slip grows from its least value to `end`."""
        elastic_end = np.minimum(end, self.yielding)
        elastic = np.where(
            least < elastic_end, np.arccosh(np.maximum(elastic_end / least, 1.0)), 0.0
        ) / np.sqrt(c * self.stiff)
        start = np.maximum(least, self.yielding)
        past = np.maximum(end - start, 0.0)
        slope = [
            np.sqrt(np.maximum(2 * c * (self.at(s) - self.at(least)), 0.0))
            for s in (start, start + past)
        ]
        rise = slope[1] - slope[0]
        load = self.load + self.hard * (start - self.yielding)
        rate = np.sqrt(c * self.hard)
        plastic = np.where(
            self.hard > 0,
            np.log1p((rate * past + rise) / (load * c / np.where(rate > 0, rate, 1.0) + slope[0]))
            / np.where(rate > 0, rate, 1.0),
            rise / (c * load),
        )
        total: FloatArray = elastic + plastic + np.where(np.isnan(end), np.nan, 0.0)
        return total
