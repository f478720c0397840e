"""How the engaged threads share the load until the first parts: its closed forms, then `share`.

That answers for the original or the repaired hole, from sizes and plain material values.
"""

from dataclasses import asdict, dataclass

import numpy as np
from numpy.typing import ArrayLike

from ...arrays import FloatArray, Floats, broadcast, finite, first_at, not_negative, positive
from ...errors import GeometryError, InputError, check_known
from ...tables import Reference, cited, constant
from ...threads.profile import TRIANGLE_60
from ..strip import STATES
from .chain import Chain, chain_of, solve_slips, thread_loads
from .compliance import line_compliance, thread_compliance

REFERENCES = cited("sharing", "compliance-compliance")


@dataclass(frozen=True, kw_only=True, eq=False)
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
        return self.loads[..., 0][()]

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

    def work(self, slip: Floats) -> Floats:
        """Work per axial length up to a slip, N."""
        elastic = np.minimum(slip, self.yield_slip)
        past = np.maximum(slip - self.yield_slip, 0.0)
        plastic = self.yield_load * past + self.hardening * past**2 / 2
        return elastic**2 / np.asarray(self.compliance) / 2 + plastic

    def slip(self, work: Floats) -> Floats:
        """Slip at which a work is done, mm."""
        beyond = np.maximum(work - self.work(self.yield_slip), 0.0)
        root = np.sqrt(np.square(self.yield_load) + 2 * self.hardening * beyond)
        elastic = np.minimum(np.sqrt(2 * work * np.asarray(self.compliance)), self.yield_slip)
        return elastic + 2 * beyond / (self.yield_load + root)


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
    broadcast(chain=chain.strain, compliance=give)
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
    (x_,), (a,) = positive(x=x), finite(end_share=end_share)
    broadcast(x=x_, end_share=a)
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
    work = law.work(law.rupture_slip)
    with np.errstate(divide="ignore", invalid="ignore"):
        endless = np.sqrt(2 * work / c) / share
        least = law.slip((1 - fraction**2) * work)
        far = (1 - share) * fraction * endless
        other_end = law.slip(law.work(least) + c * far**2 / 2)
        length = _arm(law, least, law.rupture_slip, c) + _arm(law, least, other_end, c)
    return length[()], endless[()]


def _arm(law: ToothLaw, least: Floats, end: Floats, c: FloatArray) -> FloatArray:
    """Length along which the slip grows from its least value to `end`."""
    elastic_end = np.minimum(end, law.yield_slip)
    elastic = np.where(
        least < elastic_end, np.arccosh(np.maximum(elastic_end / least, 1.0)), 0.0
    ) / np.sqrt(c / np.asarray(law.compliance))
    start = np.maximum(least, law.yield_slip)
    past = np.maximum(end - start, 0.0)
    slope = [
        np.sqrt(np.maximum(2 * c * (law.work(s) - law.work(least)), 0.0))
        for s in (start, start + past)
    ]
    rise = slope[1] - slope[0]
    load = law.yield_load + law.hardening * (start - law.yield_slip)
    rate = np.sqrt(c * law.hardening)
    plastic = np.where(
        law.hardening > 0,
        np.log1p((rate * past + rise) / (load * c / np.where(rate > 0, rate, 1.0) + slope[0]))
        / np.where(rate > 0, rate, 1.0),
        rise / (c * load),
    )
    return elastic + plastic + np.where(np.isnan(end), np.nan, 0.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class StateSharing(Sharing):
    """What the load sharing says of one state of a joint, or of many at once.

    Attributes
    ----------
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

    chain: Chain
    law: ToothLaw
    efficiency: Floats
    useful_length: Floats
    ductility_capacity: Floats
    block_assumed: bool
    references: tuple[Reference, ...]


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
        With teeth that yield at parent_yield / sqrt(3), never above the ultimate load, which they
        have at rupture.

    Raises
    ------
    InputError, GeometryError
        Unknown state; sliding coil without wire modulus; boss not wider than the hole; value not
        above zero; elongation given in per cent (above 1).

    Notes
    -----
    Von Mises: shear strain at rupture sqrt(3) ln(1 + elongation), times the width of the band that
    shears. Neither the width nor the use of the elongation of a tensile bar for a thread has a
    published source: take the result as an order of magnitude. Elongation over a bar's gauge length
    is below the strain at the fracture, which is on the safe side.

    Source: see `thread_compliance`, `elastic_sharing`, `useful_length`; load-slip law of the teeth:
    derived (load-sharing-model); assumption.
    """
    check_known("state", state, STATES)
    d, p, engaged, area, tau, rp = positive(
        major=major,
        pitch=pitch,
        length=length,
        shear_area=shear_area,
        parent_shear_strength=parent_shear_strength,
        parent_yield=parent_yield,
    )
    (stretch,) = not_negative(parent_elongation=parent_elongation)
    if (stretch > 1).any():
        raise InputError.of("elongation_in_percent", given=np.nanmax(stretch))
    extra = 1.5 * TRIANGLE_60 * p if state == "repaired" else 0.0
    screw_pitch_diameter = d - 0.75 * TRIANGLE_60 * p
    hole_major, hole_pitch_diameter = d + extra, screw_pitch_diameter + extra
    block = constant("sharing_block_diameter")
    boss = positive(boss_diameter=block.value * d if boss_diameter is None else boss_diameter)[0]
    within = boss <= hole_major
    if within.any():
        where, (outside, hole) = first_at(within, boss, hole_major)
        raise GeometryError.of("boss_within_major", hole=hole, boss=outside, where=where)
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
    band = constant("sharing_shear_band")
    ultimate = tau * (area / engaged)
    plastic = np.sqrt(3.0) * np.log1p(stretch) * (band.value * p)
    law = ToothLaw(
        compliance=compliance,
        yield_load=np.minimum(rp / np.sqrt(3.0) * (area / engaged), ultimate)[()],
        ultimate_load=ultimate[()],
        # The elastic part grows with the load up to the ultimate one.
        rupture_slip=(ultimate * compliance + plastic)[()],
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
        **vars(elastic),
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
