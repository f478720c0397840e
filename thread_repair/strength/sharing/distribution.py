"""How the engaged threads share the load, elastic and beyond yield, until the first parts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import FloatArray, Floats, plain, positive
from ...errors import InputError
from ...tables import cited
from .chain import Chain, solve_slips, thread_loads
from .compliance import COMPLIANCE_REFERENCES

REFERENCES = (*cited("sharing"), *COMPLIANCE_REFERENCES)


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
        positive(
            compliance=self.compliance,
            yield_load=self.yield_load,
            ultimate_load=self.ultimate_load,
            rupture_slip=self.rupture_slip,
        )
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
    slip, total = solve_slips(chain, np.ones(shape), one, np.zeros(shape), np.full(shape, np.inf))
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
    _, load = solve_slips(chain, *(np.broadcast_to(v, shape) for v in laws))
    return load[()]
