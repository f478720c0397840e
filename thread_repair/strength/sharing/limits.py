"""Closed forms of the load sharing: the line load at an end, and the length of no more use.

x is the length parameter lambda L. `end_share` is the part of the load that enters the shear
layer at the end looked at: 1 at the bearing face of a parent pressed on that face (a nut); for a
parent held beyond the thread, 1 - eta at the bearing face and eta at the screw's end, where
eta = (1/An En) / (1/Ab Eb + 1/An En).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import FloatArray, Floats
from ...errors import InputError
from .chain import Chain
from .distribution import ToothLaw


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


def useful_length(chain: Chain, law: ToothLaw, *, fraction: float = 0.99) -> tuple[Floats, Floats]:
    """Engagement beyond which this parent gains nothing.

    Parameters
    ----------
    chain : Chain
        Its lengths are not used.
    law : ToothLaw
    fraction : float
        Part of the endless thread's strip load that counts as all of it.

    Returns
    -------
    length : float or ndarray, mm
        Engagement at which the strip load is that part; NaN where the slip at rupture is not
        known.
    endless : float or ndarray, N
        Strip load of an endless engagement: the first thread parts however many follow.

    Raises
    ------
    InputError
        fraction outside 0..1.

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
    c, share = chain.strain, chain.end_share
    parts = _Work(law)
    work = parts.at(parts.rupture)
    with np.errstate(divide="ignore", invalid="ignore"):
        endless = np.sqrt(2 * work / c) / share
        least = parts.slip((1 - fraction**2) * work)
        far = (1 - share) * fraction * endless
        other_end = parts.slip(parts.at(least) + c * far**2 / 2)
        length = parts.arm(least, parts.rupture, c) + parts.arm(least, other_end, c)
    return length[()], endless[()]


class _Work:
    """The work of a bilinear thread, its inverse, and the length over which slip builds up."""

    def __init__(self, law: ToothLaw) -> None:
        self.load, self.hard = np.asarray(law.yield_load), np.asarray(law.hardening)
        self.yielding, self.rupture = np.asarray(law.yield_slip), np.asarray(law.rupture_slip)
        self.stiff = 1 / np.asarray(law.compliance)

    def at(self, slip: FloatArray) -> FloatArray:
        elastic = np.minimum(slip, self.yielding)
        past = np.maximum(slip - self.yielding, 0.0)
        work: FloatArray = self.stiff * elastic**2 / 2 + self.load * past + self.hard * past**2 / 2
        return work

    def slip(self, work: FloatArray) -> FloatArray:
        beyond = np.maximum(work - self.at(self.yielding), 0.0)
        past = 2 * beyond / (self.load + np.sqrt(self.load**2 + 2 * self.hard * beyond))
        slip: FloatArray = np.minimum(np.sqrt(2 * work / self.stiff), self.yielding) + past
        return slip

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
