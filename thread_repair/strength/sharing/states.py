"""Load sharing of the original and of the repaired hole from sizes and plain material values."""

from __future__ import annotations

from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import ArrayLike

from ... import tables
from ...arrays import FloatArray, Floats, positive
from ...errors import GeometryError, InputError
from ...tables import Reference
from ...threads.profile import TRIANGLE_60
from ..strip import STATES
from .chain import Chain, chain_of
from .compliance import line_compliance, thread_compliance
from .distribution import (
    REFERENCES,
    Sharing,
    ToothLaw,
    elastic_sharing,
    strip_load,
    useful_length,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StateSharing(Sharing):
    """What the load sharing says of one state of a joint, or of many at once.

    Attributes
    ----------
    state, boundary : the hole and the parent's support
    chain, law : what was solved, and the load-slip law of its threads
    efficiency : float or ndarray
        Strip load over that of perfectly shared load.
    useful_length : float or ndarray, mm
        Engagement beyond which this parent gains less than one percent.
    ductility_capacity : float or ndarray
        Slip at rupture over slip at yield. All threads reach yield before the first one parts
        where it is at least the demand.
    block_assumed : bool
        Whether the boss diameter was assumed.
    references : where formulas and assumed numbers come from

    Efficiency, useful length and ductility capacity are NaN where the parent's elongation or yield
    strength is not known: without it the threads of the model never yield.
    """

    state: str
    boundary: str
    chain: Chain
    law: ToothLaw
    efficiency: Floats
    useful_length: Floats
    ductility_capacity: Floats
    block_assumed: bool
    references: tuple[Reference, ...]


def tooth_law(
    *,
    compliance: ArrayLike,
    shear_area_per_length: ArrayLike,
    shear_strength: ArrayLike,
    yield_strength: ArrayLike,
    elongation: ArrayLike,
    shear_band: ArrayLike,
) -> ToothLaw:
    """Load-slip law of the parent's threads.

    Parameters
    ----------
    compliance : array_like, mm2/N
        Slip per line load of all members in series.
    shear_area_per_length : array_like, mm2/mm
        Strip area over engaged length.
    shear_strength : array_like, MPa
        Ultimate shear strength of the parent.
    yield_strength : array_like, MPa
        Tensile yield (0.2 %) strength of the parent.
    elongation : array_like, -
        Elongation at fracture as a fraction (0.10 for 10 %); NaN if not known.
    shear_band : array_like, mm
        Radial width over which the tooth shears.

    Returns
    -------
    ToothLaw
        Yield at yield_strength/sqrt(3), never above the ultimate; ultimate at rupture.

    Raises
    ------
    InputError
        Value not above zero; elongation given in per cent (above 1).

    Notes
    -----
    Von Mises: shear strain at rupture sqrt(3) ln(1 + elongation), times the band's width. Neither
    the width nor the use of the elongation of a tensile bar for a thread has a published source:
    take the result as an order of magnitude. Elongation over a bar's gauge length is below the
    strain at the fracture, which is on the safe side.

    Source: derived (load-sharing-model); assumption.
    """
    c, area, tau, rp, band = positive(
        compliance=compliance,
        shear_area_per_length=shear_area_per_length,
        shear_strength=shear_strength,
        yield_strength=yield_strength,
        shear_band=shear_band,
    )
    stretch = np.asarray(elongation, dtype=np.float64)
    if np.any(stretch < 0) or np.any(stretch > 1):
        raise InputError("elongation must be a fraction from 0 to 1 (0.10 for 10 %)")
    ultimate = tau * area
    plastic = np.sqrt(3.0) * np.log1p(stretch) * band
    return ToothLaw(
        compliance=c[()],
        yield_load=np.minimum(rp / np.sqrt(3.0) * area, ultimate)[()],
        ultimate_load=ultimate[()],
        # The elastic part grows with the load up to the ultimate one.
        rupture_slip=(ultimate * c + plastic)[()],
    )


def share(
    *,
    major: ArrayLike,
    pitch: ArrayLike,
    length: ArrayLike,
    screw_modulus: ArrayLike,
    screw_poisson: ArrayLike,
    parent_modulus: ArrayLike,
    parent_poisson: ArrayLike,
    parent_shear_strength: ArrayLike,
    parent_yield: ArrayLike,
    parent_elongation: ArrayLike,
    shear_area: ArrayLike,
    boss_diameter: ArrayLike | None = None,
    state: str = "original",
    sliding_coil: bool = False,
    wire_modulus: ArrayLike | None = None,
    wire_poisson: ArrayLike = 0.3,
    boundary: str = "compression",
    segments_per_pitch: int = 4,
) -> StateSharing:
    """Load sharing of one state of a joint.

    Parameters
    ----------
    major, pitch : array_like, mm
        Basic major diameter of the screw and pitch.
    length : array_like, mm
        Engaged length of full thread.
    screw_modulus, parent_modulus, wire_modulus : array_like, MPa
        Young's moduli. `wire_modulus` is needed for a sliding coil only.
    screw_poisson, parent_poisson, wire_poisson : array_like
    parent_shear_strength, parent_yield : array_like, MPa
        Ultimate shear and tensile yield strength.
    parent_elongation : array_like, -
        Elongation at fracture as a fraction; NaN if not known: then whatever needs it is NaN.
    shear_area : array_like, mm2
        Strip area of the parent's threads over the whole length, by the method in use.
    boss_diameter : array_like, mm, or None
        None assumes three screw diameters and says so in `block_assumed`.
    state : "original" | "repaired"
        Repaired: the parent's thread is larger by 1.5 thread heights (the insert hole).
    sliding_coil : bool
        Repaired only. False: the coil is stuck fast and adds nothing. True: it slides on both
        flanks and each bends like a thread of the wire's material; an open coil takes no hoop
        load, so it adds no radial give. The two bracket the real coil; no test says where it is.
    boundary : "compression" | "tension"
        Parent pressed on the bearing face (boss held on its face), or held beyond the thread
        (boss held at its base).
    segments_per_pitch : int
        See `chain_of`.

    Returns
    -------
    StateSharing

    Raises
    ------
    InputError, GeometryError
        Unknown state; sliding coil without wire modulus; boss not wider than the hole.

    Source: see `thread_compliance`, `elastic_sharing`, `tooth_law`, `useful_length`.
    """
    if state not in STATES:
        raise InputError(f"state must be 'original' or 'repaired', got {state!r}")
    d, p, engaged, area = positive(major=major, pitch=pitch, length=length, shear_area=shear_area)
    extra = 1.5 * TRIANGLE_60 * p if state == "repaired" else 0.0
    screw_pitch_diameter = d - 0.75 * TRIANGLE_60 * p
    hole_major, hole_pitch_diameter = d + extra, screw_pitch_diameter + extra
    block = tables.constant("sharing_block_diameter")
    boss = positive(boss_diameter=block.value * d if boss_diameter is None else boss_diameter)[0]
    if np.any(boss <= hole_major):
        raise GeometryError(
            f"boss_diameter must be above the hole's major diameter, {np.max(hole_major):.3f} mm, "
            f"got {np.min(boss):g}"
        )
    compliance = _give("screw", p, screw_pitch_diameter, screw_modulus, screw_poisson) + _give(
        "parent", p, hole_pitch_diameter, parent_modulus, parent_poisson, outer=boss
    )
    if sliding_coil and state == "repaired":
        if wire_modulus is None:
            raise InputError("wire_modulus is needed for a sliding coil")
        # A parent-like tooth inside, a screw-like tooth outside.
        inner = _give("parent", p, screw_pitch_diameter, wire_modulus, wire_poisson, part="tooth")
        outer = _give("screw", p, hole_pitch_diameter, wire_modulus, wire_poisson, part="tooth")
        compliance = compliance + (inner + outer)
    band = tables.constant("sharing_shear_band")
    law = tooth_law(
        compliance=compliance,
        shear_area_per_length=area / engaged,
        shear_strength=parent_shear_strength,
        yield_strength=parent_yield,
        elongation=parent_elongation,
        shear_band=band.value * p,
    )
    chain = chain_of(
        length=engaged,
        pitch=p,
        screw_area=np.pi / 4 * (screw_pitch_diameter - TRIANGLE_60 * p / 3) ** 2,
        parent_area=np.pi / 4 * (boss**2 - hole_major**2),
        screw_modulus=screw_modulus,
        parent_modulus=parent_modulus,
        boundary=boundary,
        segments_per_pitch=segments_per_pitch,
    )
    elastic = elastic_sharing(chain, compliance)
    capacity = np.asarray(law.rupture_slip / law.yield_slip)
    assumed = (block, band) if boss_diameter is None else (band,)
    efficiency = strip_load(chain, law) / (law.ultimate_load * engaged)
    return StateSharing(
        **asdict(elastic),
        state=state,
        boundary=boundary,
        chain=chain,
        law=law,
        efficiency=np.where(np.isnan(capacity), np.nan, efficiency)[()],
        useful_length=useful_length(chain, law)[0],
        ductility_capacity=capacity[()],
        block_assumed=boss_diameter is None,
        references=(*REFERENCES, *(each.reference for each in assumed)),
    )


def _give(
    side: str,
    pitch: FloatArray,
    diameter: FloatArray,
    modulus: ArrayLike,
    poisson: ArrayLike,
    *,
    part: str = "total",
    outer: ArrayLike = np.inf,
) -> Floats:
    """Slip per line load of one member's thread, or of its tooth alone."""
    terms = thread_compliance(
        side=side, pitch=pitch, pitch_diameter=diameter, poisson=poisson, outer_diameter=outer
    )
    return line_compliance(
        getattr(terms, part), modulus=modulus, pitch=pitch, pitch_diameter=diameter
    )
