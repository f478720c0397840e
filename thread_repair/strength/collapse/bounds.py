"""Certified bounds on the strip load of one pitch and of a boss, and the mechanism of collapse.

What is assumed. The parent is rigid, perfectly plastic, von Mises, with one flow stress; the
screw is rigid and keeps its diameter; geometry is that before loading; the helix is replaced by
rings. Flanks and supports are frictionless. The lower bound holds for rough ones too: on the true
velocities of collapse, which only open contacts, friction does no positive work, so that the load
of a field with pressure alone is not above the true one (D. C. Drucker, Coulomb friction,
plasticity and limit loads, J. Appl. Mech. 21, 1954; known from memory). The upper bound is that of
the frictionless joint, which friction can exceed. For the thread's strength this is the safe end.
The bounds are strict for the polygonal profile up to the certificate's rounding.

The insert's wire is covered, where it is asked for, as one closed ring per pitch that may widen,
roll and yield: pressed by like flanks inside and outside, a ring has no net hoop force to carry,
so closing the helix adds no strength but its resistance to rolling. The ends of the coil, which
roll more easily, are not covered. Without it the insert is rigid, which flatters a repair whose
wire is less than about three times as strong as the parent.

Of the basic profile the formula's load is within the bounds of the usual mesh; cut three times as
fine, the upper bound is 0.996 to 0.998 of the formula. So a report says by how much the formula may
exceed the true load, up to the lower bound, not that it is within. Once the flanks overlap too
little the crest of the ridge gives way before the shear cylinder, because the formula does not know
the hole's minor diameter; `strength.overlap` keeps the loads below these bounds then.

Hardening, rupture at limited strain and flow-stress choice are outside the bounds: the flow
stress is the caller's, and what could be chosen differs by more than the gap between the bounds.
"""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...arrays import FloatArray
from ...errors import InputError, check_known
from .certificate import Certificate, NotCertifiedError, certify_lower, certify_upper
from .fields import stress_field, velocity_field
from .mesh import IntArray, Mesh, Side
from .profile import Coil, Density, ThreadPair, boss_density, boss_mesh, cell_mesh
from .wall_factor import SUPPORTS

#: Solver tolerances, tried in turn until a field passes its certificate.
_TOLERANCES = (1e-6, 1e-5, 1e-8)
_CELL = Density(ridge_rows=8, ridge_columns=6, wall_columns=5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """A certified bracket of a collapse load for unit flow stress, beside the formula's load.

    Attributes
    ----------
    lower, upper : float, mm2
        Times a flow stress they are loads.
    formula : float, mm2
        1 / sqrt(3) x shear area on the cylinder of the screw's major diameter (FED-STD-H28/2B,
        Appendix B).
    triangles : int
        Of the mesh.
    """

    lower: float
    upper: float
    formula: float
    triangles: int

    @property
    def gap(self) -> float:
        """Distance of the bounds over the upper one."""
        return 1 - self.lower / self.upper

    @property
    def within(self) -> bool:
        """Whether the formula's load lies within the bounds (to one part in a million)."""
        return bool(self.lower * (1 - 1e-6) <= self.formula <= self.upper * (1 + 1e-6))


@dataclass(frozen=True, slots=True, kw_only=True)
class Mechanism:
    """The velocity field of the upper bound, for a figure.

    Attributes
    ----------
    nodes : ndarray, shape (n, 2), mm
        Radius and height.
    triangles : ndarray of int, shape (t, 3)
    velocities : ndarray, shape (t, 3, 2)
        Radial and axial, over the screw's; a triangle's own, since velocities may jump.
    upper : float, mm2
        The load for unit flow stress.
    """

    nodes: FloatArray
    triangles: IntArray
    velocities: FloatArray
    upper: float


def cell_bounds(
    *,
    outer_diameter: float | None = None,
    coil: Coil | None = None,
    refinement: int = 1,
    **sizes: float,
) -> Bounds:
    """Bound the load per pitch of an endless thread in a wall that is held outside.

    Parameters
    ----------
    outer_diameter : float, optional, mm
        Where a rigid body holds the wall; by default four pitches beyond the hole's major
        diameter, far enough not to matter.
    coil : Coil, optional
        The insert's wire as deformable rings; without it the insert is as rigid as the screw.
    refinement : int
        Every cell of the mesh is cut this many times both ways.
    **sizes : float, mm
        Of `ThreadPair`: screw_major (or outside diameter of the fitted insert), hole_minor,
        hole_pitch_diameter, hole_major, pitch; flank_angle in degrees, 60 by default.

    Returns
    -------
    Bounds

    Raises
    ------
    NotCertifiedError
        If no field passed its certificate; no number is returned then.
    GeometryError
        If the profile is not possible.

    Examples
    --------
    >>> basic = cell_bounds(
    ...     screw_major=8, hole_minor=6.647, hole_pitch_diameter=7.188, hole_major=8, pitch=1.25
    ... )
    >>> basic.within, round(basic.upper / basic.formula, 3)
    (True, 1.0)
    """
    pair = ThreadPair(**sizes)
    outside = pair.hole_major + 4 * pair.pitch if outer_diameter is None else outer_diameter
    return _bounds(cell_mesh(pair, outside, _CELL.refined(refinement), coil=coil), pair.shear_area)


def boss_bounds(*, n_pitches: int, **boss: Any) -> Bounds:
    """Bound the load of several pitches in a round boss as long as the engagement.

    Parameters
    ----------
    n_pitches : int
        Engaged pitches.
    **boss
        boss_diameter : float, mm
            Outside diameter; the outside is free.
        support : "base" or "face"
            base: held at the end away from the face, so that the wall is in tension. face: pressed
            against the clamped part at the face, so that the wall is in compression, as in a nut.
            Neither holds the wall radially: the supports are frictionless.
        bearing_diameter : float, optional, mm
            The face bears from here outwards: the clearance hole of the clamped part, where that
            is wider than the tapped hole. By default it bears from the hole's major diameter.
        density : Density, optional
            Mesh before refinement.
        coil, refinement, and the sizes of `ThreadPair`
            As in `cell_bounds`.

    Returns
    -------
    Bounds

    Raises
    ------
    NotCertifiedError, GeometryError, InputError
    """
    mesh, pair = _boss(n_pitches=n_pitches, **boss)
    return _bounds(mesh, n_pitches * pair.shear_area)


def collapse_mechanism(**boss: Any) -> Mechanism:
    """Return the certified velocity field of a boss's upper bound.

    Parameters
    ----------
    **boss : object
        Parameters of `boss_bounds`.

    Returns
    -------
    Mechanism
    """
    mesh, _ = _boss(**boss)
    motion, certificate = _certified(velocity_field, certify_upper, mesh)
    motion = motion * certificate.scale
    return Mechanism(
        nodes=mesh.nodes,
        triangles=mesh.triangles,
        velocities=motion / mesh.corners[..., :1],
        upper=certificate.load,
    )


def _boss(
    *,
    boss_diameter: float,
    n_pitches: int,
    support: str = "base",
    bearing_diameter: float | None = None,
    coil: Coil | None = None,
    refinement: int = 1,
    density: Density | None = None,
    **sizes: float,
) -> tuple[Mesh, ThreadPair]:
    check_known("support", support, SUPPORTS)
    if bearing_diameter is not None and support != "face":
        raise InputError("bearing_diameter is for a boss supported on its face, not at its base")
    if n_pitches < 1:
        raise InputError(f"n_pitches must be 1 or more, got {n_pitches}")
    pair = ThreadPair(**sizes)
    mesh = boss_mesh(
        pair,
        boss_diameter,
        n_pitches,
        (density or boss_density(pair, boss_diameter)).refined(refinement),
        base=Side.ROLLER if support == "base" else Side.FREE,
        face=Side.PLATE if support == "face" else Side.FREE,
        coil=coil,
        bearing_diameter=bearing_diameter,
    )
    return mesh, pair


def _bounds(mesh: Mesh, shear_area: float) -> Bounds:
    _, lower = _certified(stress_field, certify_lower, mesh)
    _, upper = _certified(velocity_field, certify_upper, mesh)
    if not lower.load <= upper.load:
        raise NotCertifiedError.of("bounds_not_ordered", lower=lower, upper=upper)
    return Bounds(
        lower=lower.load,
        upper=upper.load,
        formula=float(shear_area / np.sqrt(3.0)),
        triangles=len(mesh.triangles),
    )


def _certified(
    find: Callable[..., FloatArray], check: Callable[..., Certificate], mesh: Mesh
) -> tuple[FloatArray, Certificate]:
    """Return the first field that passes its certificate."""
    for tolerance in _TOLERANCES[:-1]:
        with suppress(NotCertifiedError):
            values = find(mesh, tolerance=tolerance)
            return values, check(mesh, values)
    values = find(mesh, tolerance=_TOLERANCES[-1])
    return values, check(mesh, values)
