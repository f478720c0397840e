"""How the engaged threads share the load, elastic and beyond yield, until the first parts."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import FloatArray, Floats, not_negative, positive
from ...errors import InputError
from ...sources import Reference
from ...tables import cited
from .chain import (
    Chain,
    chain_of,
    displacement,
    line_load,
    member_stiffness,
    solve_slips,
    thread_loads,
)
from .compliance import COMPLIANCE_REFERENCES

REFERENCES = (*cited("sharing"), *COMPLIANCE_REFERENCES)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sharing:
    """The elastic sharing of one joint, or of many at once.

    Attributes
    ----------
    loads : ndarray, shape (..., threads), N
        Load of each thread from the bearing face; past a joint's last thread, zero.
    first_thread_share, first_three_share : float or ndarray
        Part of the load that the first, the first three pitches carry.
    peak_over_mean : float or ndarray
        Highest line load over the mean one, at whichever end it is.
    face_over_mean, far_over_mean : float or ndarray
        The same at the bearing face and at the screw's end.
    ductility_demand : float or ndarray
        Slip of the most loaded thread, in units of its slip at yield, by which perfectly plastic
        threads have all reached yield.
    length_parameter : float or ndarray
        Length over the model's own length scale; below 1 the load is nearly uniform.
    """

    loads: FloatArray
    first_thread_share: Floats
    first_three_share: Floats
    peak_over_mean: Floats
    face_over_mean: Floats
    far_over_mean: Floats
    ductility_demand: Floats
    length_parameter: Floats
    references: tuple[Reference, ...] = REFERENCES


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SlipCurve:
    """Load against displacement until the first thread parts.

    Attributes
    ----------
    displacement, load : ndarray, shape (..., steps), mm and N
        Movement of the screw at the bearing face against the parent's support, and the load.
    slip : ndarray, shape (..., steps), mm
        Slip of the most loaded thread.
    first_yield_load : float or ndarray, N
        Load at which the most loaded thread yields.
    strip_load : float or ndarray, N
        Load at which the first thread parts. The rest cannot carry more: the curve ends there.
    plastic_load : float or ndarray, N
        Every thread at its ultimate at once: line load times length.
    efficiency : float or ndarray
        strip_load / plastic_load, at most 1. NaN where the slip at rupture is not known.
    """

    displacement: FloatArray
    load: FloatArray
    slip: FloatArray
    first_yield_load: Floats
    strip_load: Floats
    plastic_load: Floats
    efficiency: Floats
    references: tuple[Reference, ...] = REFERENCES


def elastic_sharing(
    *,
    length: ArrayLike,
    pitch: ArrayLike,
    screw_area: ArrayLike,
    parent_area: ArrayLike,
    screw_modulus: ArrayLike,
    parent_modulus: ArrayLike,
    tooth_compliance: ArrayLike,
    load: ArrayLike = 1.0,
    boundary: str = "compression",
    segments_per_pitch: int = 4,
) -> Sharing:
    """Elastic sharing of the load among the engaged threads.

    Parameters
    ----------
    length, pitch : array_like, mm
        Engaged length of full thread; pitch. A last incomplete pitch is a short last thread.
    screw_area, parent_area : array_like, mm2
        Cross-sections of the two members.
    screw_modulus, parent_modulus : array_like, MPa
        Young's moduli; infinite for a rigid member.
    tooth_compliance : array_like, mm2/N
        Slip per line load of all threads in series (`line_compliance`; add the members).
    load : array_like, N
        Applied load.
    boundary : "compression" | "tension"
        Parent pressed on its bearing face, or held beyond the end of the screw.
    segments_per_pitch : int
        Fineness; the error falls with its square (0.1 % at 4 for usual threads).

    Returns
    -------
    Sharing
        The thread loads add up to `load`.

    Raises
    ------
    InputError
        A value not above zero, or an unknown boundary.

    Source: thread-load-distribution-1948 (theory, from memory); discrete form derived here.

    Examples
    --------
    >>> s = elastic_sharing(length=8.4, pitch=1.5, screw_area=57.99, parent_area=122.5,
    ...     screw_modulus=205e3, parent_modulus=205e3, tooth_compliance=2.19e-6)
    >>> print(f"{s.peak_over_mean:.2f} {s.first_thread_share:.2f}")
    2.07 0.31
    """
    length_, pitch_, c_t, force = np.broadcast_arrays(
        *positive(length=length, pitch=pitch, tooth_compliance=tooth_compliance),
        *not_negative(load=load),
    )
    chain = chain_of(
        length_,
        pitch_,
        *member_stiffness(screw_area, parent_area, screw_modulus, parent_modulus),
        boundary,
        segments_per_pitch,
    )
    shape = np.broadcast_shapes(length_.shape, chain.strain.shape)
    one = np.broadcast_to(1 / c_t, shape)
    slip, total = solve_slips(chain, np.ones(shape), one, np.zeros(shape), np.full(shape, np.inf))
    intensity = slip * one / total
    share = thread_loads(chain, intensity, np.broadcast_to(pitch_, shape))
    face = np.where(chain.flipped, intensity[-1], intensity[0]) * length_
    far = np.where(chain.flipped, intensity[0], intensity[-1]) * length_
    parameter = length_ * np.sqrt(chain.strain / c_t)
    return Sharing(
        loads=share * force[..., None],
        first_thread_share=share[..., 0][()],
        first_three_share=share[..., :3].sum(axis=-1)[()],
        peak_over_mean=np.maximum(face, far)[()],
        face_over_mean=face[()],
        far_over_mean=far[()],
        ductility_demand=(1 + (parameter * chain.end_share) ** 2 / 2)[()],
        length_parameter=parameter[()],
    )


def load_slip_curve(
    law: ToothLaw,
    *,
    length: ArrayLike,
    pitch: ArrayLike,
    screw_area: ArrayLike,
    parent_area: ArrayLike,
    screw_modulus: ArrayLike,
    parent_modulus: ArrayLike,
    boundary: str = "compression",
    segments_per_pitch: int = 4,
    steps: int = 64,
) -> SlipCurve:
    """Load against displacement with yielding threads, until the first thread parts.

    Parameters
    ----------
    law : ToothLaw
        Broadcasts against the sizes.
    length, pitch, screw_area, parent_area, screw_modulus, parent_modulus, boundary,
    segments_per_pitch : as in `elastic_sharing`
    steps : int
        Points of the curve, closer together at small slip.

    Returns
    -------
    SlipCurve
        Where the slip at rupture is not known the curve and the strip load are NaN; the load of
        first yield is not.

    Raises
    ------
    InputError
        A value not above zero, or an unknown boundary.

    Notes
    -----
    Screw and parent bodies stay elastic: whether they yield first is another mode's question.
    A thread that parts drops its load at once, and the shorter rest, with the same end slip,
    carries less; so the first parting is the strip load.

    Source: derived (load-sharing-model).
    """
    length_, pitch_ = np.broadcast_arrays(*positive(length=length, pitch=pitch))
    areas = member_stiffness(screw_area, parent_area, screw_modulus, parent_modulus)
    chain = chain_of(length_, pitch_, *areas, boundary, segments_per_pitch)
    laws = (
        1 / np.asarray(law.compliance),
        law.hardening,
        law.yield_slip,
        law.rupture_slip,
        law.ultimate_load,
    )
    shape = np.broadcast_shapes(length_.shape, chain.strain.shape, *(np.shape(v) for v in laws))
    stiff, hard, at_yield, at_rupture, ultimate = (
        np.broadcast_to(v, shape)[..., None] for v in laws
    )
    wide = Chain(
        step=np.broadcast_to(chain.step, shape)[..., None],
        strain=np.broadcast_to(chain.strain, shape)[..., None],
        end_share=np.broadcast_to(chain.end_share, shape)[..., None],
        flipped=np.broadcast_to(chain.flipped, shape)[..., None],
        segments=chain.segments,
    )
    # The last column is the slip at yield, for the load of first yield.
    ends = np.concatenate([at_rupture * np.linspace(0, 1, steps) ** 2, at_yield], axis=-1)
    slip, load = solve_slips(wide, ends, stiff, hard, at_yield)
    moved = displacement(
        wide,
        slip,
        load,
        np.broadcast_to(areas[1], shape)[..., None],
        line_load(slip, stiff, hard, at_yield),
        boundary,
    )
    with np.errstate(invalid="ignore"):
        strip = load[..., -2]
        plastic = ultimate[..., 0] * length_
    return SlipCurve(
        displacement=moved[..., :-1],
        load=load[..., :-1],
        slip=ends[..., :-1],
        first_yield_load=load[..., -1][()],
        strip_load=strip[()],
        plastic_load=plastic[()],
        efficiency=(strip / plastic)[()],
    )
