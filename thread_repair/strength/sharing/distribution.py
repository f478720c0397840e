"""How the engaged threads share the load until the first parts, and its closed forms."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import FloatArray, Floats, plain, positive
from ...errors import InputError
from ...tables import Reference, cited, reference, rows
from .chain import Chain, solve_slips, thread_loads

REFERENCES = cited("sharing", "compliance-compliance")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sharing:
    """The elastic sharing of one joint, or of many at once.

    Attributes
    ----------
    loads : ndarray, shape (..., threads)
        Part of the load on each thread from the bearing face; past a joint's last thread, zero.
    face_over_mean, far_over_mean : float or ndarray
        Line load over the mean one, at the bearing face and at the screw's end.
    ductility_demand : float or ndarray
        Slip of the most loaded thread, in units of its slip at yield, by which perfectly plastic
        threads have all reached yield.
    length_parameter : float or ndarray
        Length over the model's own length scale; below 1 the load is nearly uniform.
    """

    loads: FloatArray
    face_over_mean: Floats
    far_over_mean: Floats
    ductility_demand: Floats
    length_parameter: Floats

    @property
    def first_thread_share(self) -> Floats:
        """Part of the load that the first pitch carries."""
        return plain(self.loads[..., 0])

    @property
    def first_three_share(self) -> Floats:
        """Part of the load that the first three pitches carry."""
        return plain(self.loads[..., :3].sum(axis=-1))

    @property
    def peak_over_mean(self) -> Floats:
        """Highest line load over the mean one, at whichever end it is."""
        return np.maximum(self.face_over_mean, self.far_over_mean)[()]


class Statement(NamedTuple):
    """What others have published of the load sharing, in our words, and where."""

    text: str
    reference: Reference


def published_statements() -> tuple[Statement, ...]:
    """Return the published statements on load sharing, for screws in nuts unless stated otherwise.

    Returns
    -------
    tuple of Statement
    """
    return tuple(
        Statement(row["statement"], reference(row, f"load sharing: {row['id']}"))
        for row in rows("load_sharing_statements.csv")
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToothLaw:
    """Load against slip of the threads, per axial length: straight to yield, straight to rupture.

    Attributes
    ----------
    compliance : slip per line load before yield, mm2/N; all members in series
    yield_load, ultimate_load : line loads, N/mm
    rupture_slip : slip at which a thread parts, mm, reached at `ultimate_load`; NaN if not known
    """

    compliance: Floats
    yield_load: Floats
    ultimate_load: Floats
    rupture_slip: Floats

    def __post_init__(self) -> None:
        positive(**asdict(self))
        if np.any(self.yield_load > self.ultimate_load * (1 + 1e-12)):
            raise InputError("yield_load must not be above ultimate_load")
        if np.any(self.rupture_slip < self.yield_slip * (1 - 1e-12)):
            raise InputError("rupture_slip must not be below the slip at yield")

    @property
    def yield_slip(self) -> Floats:
        """Slip at yield, mm."""
        return self.yield_load * self.compliance

    @property
    def hardening(self) -> Floats:
        """Line load per slip between yield and rupture, N/mm2."""
        rise = np.subtract(self.ultimate_load, self.yield_load)
        run = np.subtract(self.rupture_slip, self.yield_slip)
        # No rise and no run: a brittle tooth, of which the branch is never entered.
        return np.divide(rise, np.where(run > 0, run, np.where(np.isnan(run), run, np.inf)))[()]


def elastic_sharing(chain: Chain, compliance: ArrayLike) -> Sharing:
    """Elastic sharing of the load among the engaged threads.

    Parameters
    ----------
    chain : Chain
    compliance : array_like, mm2/N
        Slip per line load of all threads in series (`line_compliance`; add the members).

    Returns
    -------
    Sharing
        Its loads add up to 1.

    Source: thread-load-distribution-1948 (theory, from memory); discrete form derived here.

    Examples
    --------
    >>> from thread_repair.strength.sharing.chain import chain_of
    >>> nut = chain_of(length=8.4, pitch=1.5, screw_area=57.99, parent_area=122.5,
    ...     screw_modulus=205e3, parent_modulus=205e3)
    >>> s = elastic_sharing(nut, 2.19e-6)
    >>> print(f"{s.peak_over_mean:.2f} {s.first_thread_share:.2f}")
    2.07 0.31
    """
    (give,) = positive(tooth_compliance=compliance)
    shape = np.broadcast_shapes(chain.strain.shape, give.shape)
    one = np.broadcast_to(1 / give, shape)
    slip, total = solve_slips(chain, np.ones(shape), lambda s: (one + 0 * s, 0 * s))
    intensity = slip * one / total
    ends = (intensity[0] * chain.length, intensity[-1] * chain.length)
    parameter = chain.length * np.sqrt(chain.strain / give)
    return Sharing(
        loads=thread_loads(chain, intensity),
        face_over_mean=np.where(chain.flipped, *ends[::-1])[()],
        far_over_mean=np.where(chain.flipped, *ends)[()],
        ductility_demand=(1 + (parameter * chain.end_share) ** 2 / 2)[()],
        length_parameter=parameter[()],
    )


def strip_load(chain: Chain, law: ToothLaw) -> Floats:
    """Load at which the first thread parts, the threads before it yielding.

    Parameters
    ----------
    chain : Chain
    law : ToothLaw
        Broadcasts against the chain.

    Returns
    -------
    float or ndarray, N
        At most the ultimate line load times the length; NaN where the slip at rupture is not
        known.

    Notes
    -----
    Screw and parent bodies stay elastic: whether they yield first is another mode's question.
    A thread that parts drops its load at once, and the shorter rest, with the same end slip,
    carries less; so the first parting is the strip load.

    Source: derived (load-sharing-model).
    """
    laws = (law.rupture_slip, 1 / np.asarray(law.compliance), law.hardening, law.yield_slip)
    shape = np.broadcast_shapes(chain.strain.shape, *(np.shape(v) for v in laws))
    rupture, stiff, hard, at_yield = (np.broadcast_to(v, shape) for v in laws)

    def bilinear(slip: FloatArray) -> tuple[FloatArray, FloatArray]:
        # A thread exactly at yield counts as elastic, whatever the last digit says.
        past = slip > at_yield * (1 + 1e-12)
        return np.where(past, hard, stiff), np.where(past, (stiff - hard) * at_yield, 0.0)

    return solve_slips(chain, rupture, bilinear)[1][()]


def end_intensity(x: ArrayLike, end_share: ArrayLike = 1.0) -> Floats:
    """Line load at one end over the mean line load.

    Parameters
    ----------
    x : array_like
        The length parameter lambda L.
    end_share : array_like
        The part of the load that enters the shear layer at the end looked at: 1 at the bearing
        face of a parent pressed on that face (a nut); for a parent held beyond the thread, 1 - eta
        at the bearing face and eta at the screw's end, where
        eta = (1/An En) / (1/Ab Eb + 1/An En).

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
