"""In which ways can a state fail, and at what load, by the primary model.

`results` gives each mode with its area, stress, factors and notes; `capacities` keeps the loads
alone. Both take arrays: a million joints are a fraction of a second.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .. import files
from ..arrays import Floats, first_at, plain, positive
from ..errors import GeometryError
from ..facts import fact
from ..tables import cited
from . import primary
from .areas import strip_area_internal
from .strip import StripInputs, StripResult

_TOLD: Mapping[str, Mapping[str, Any]] = files.data("modes.toml")["modes"]
#: Failure modes in the order of every table.
MODES = tuple(_TOLD)
#: The modes that pull the screw out; the lowest is the pull-out strength of a state.
PULL_OUT_MODES = MODES[1:]
#: By which method a mode is worked out, but for tension; what each rests on.
METHOD_OF = {mode: told["method"] for mode, told in _TOLD.items() if "method" in told}
REFERENCES = {mode: cited(*told["cites"]) for mode, told in _TOLD.items()}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ModeSet:
    """Capacity of every mode, N, by the primary model, each of the shape of all inputs.

    NaN: the model's source has no value there. Infinite: the mode does not exist in this joint
    (no insert, no boss given).

    Attributes
    ----------
    screw_tension, screw_tension_max : with the least and the greatest tensile strength
    screw_thread_strip, parent_thread_strip, flank_bearing, insert_thread_strip, boss_wall
    """

    screw_tension: Floats
    screw_tension_max: Floats
    screw_thread_strip: Floats
    parent_thread_strip: Floats
    flank_bearing: Floats
    insert_thread_strip: Floats
    boss_wall: Floats

    @property
    def pull_out(self) -> Floats:
        """Lowest load that pulls the screw out, N; NaN where one of them is not known."""
        loads = np.broadcast_arrays(*(getattr(self, mode) for mode in PULL_OUT_MODES))
        return plain(np.minimum.reduce(loads))

    @property
    def strength(self) -> Floats:
        """Lowest capacity of all modes, N, the screw at its least tensile strength."""
        return np.minimum(self.pull_out, self.screw_tension)[()]

    @property
    def governing(self) -> NDArray[np.str_]:
        """Name of the mode of lowest capacity; "unknown" where one is NaN."""
        loads = np.stack(np.broadcast_arrays(*(getattr(self, mode) for mode in MODES)))
        names = np.array((*MODES, "unknown"))
        unknown = np.isnan(loads).any(axis=0)
        lowest = np.where(unknown, len(MODES), np.where(np.isnan(loads), 0, loads).argmin(axis=0))
        return names[lowest]

    @property
    def screw_breaks_first(self) -> NDArray[np.bool_]:
        """Whether even the strongest screw of its class breaks before thread or boss gives way."""
        return np.asarray(self.screw_tension_max <= self.pull_out)[()]


def boss_wall_load(
    boss_diameter: Floats, hole_major: Floats, length: Floats, flow_stress: Floats, tangent: Floats
) -> Floats:
    r"""Load at which the wall of a boss gives way: the lower of two sections.

    Parameters
    ----------
    boss_diameter, hole_major, length : array_like, mm
        Outside of the boss, basic major diameter of the hole tapped, engaged length.
    flow_stress : array_like, MPa
    tangent : array_like
        Tangent of half the flank angle.

    Returns
    -------
    float or ndarray, N
        Infinite where no boss diameter is given (NaN).

    Raises
    ------
    GeometryError
        If the boss is not larger than the hole.

    Notes
    -----
    Net section, the wall outside the hole's major diameter in tension:

    .. math:: F = \frac{\pi}{4}\,(s^2 - D^2)\,\sigma

    Hoop section, the flanks wedging the wall apart without friction. Their radial force
    :math:`F\tan\frac{\alpha}{2}` spread round the hole stretches each side of the wall by
    :math:`F\tan\frac{\alpha}{2} / 2\pi`:

    .. math:: F = \frac{\pi\,(s - D)\,L\,\sigma}{\tan\frac{\alpha}{2}}

    The net section does not grow with the length. Source: derived here.

    Examples
    --------
    M8x1.25 insert hole in a boss of 14 mm, 8 mm engaged, flow stress 265 MPa:

    >>> print(f"{boss_wall_load(14, 9.624, 8, 265, 0.57735):.0f}")
    21516
    """
    s, D, L, flow, tan = positive(
        "length",
        boss_diameter=boss_diameter,
        hole_major=hole_major,
        length=length,
        flow_stress=flow_stress,
        tangent=tangent,
    )
    within = s <= D
    if within.any():
        where, (boss, hole) = first_at(within, s, D)
        raise GeometryError.of("boss_within_hole", boss=boss, hole=hole, where=where)
    load = np.pi / 4 * (s - D) * np.minimum(s + D, 4 * L / tan) * flow
    return np.where(np.isnan(s), np.inf, load)[()]


def results(hole: StripInputs) -> Mapping[str, StripResult]:
    """Return every mode that exists in the joint, in full, by name in the order of `MODES`.

    The insert's inner thread is taken as a solid internal thread on the screw's major diameter
    that shears through the wire; no factor applies to it.

    Parameters
    ----------
    hole : StripInputs

    Returns
    -------
    mapping of str to StripResult

    Raises
    ------
    InputError
        If the insert's inner thread or the stress of a boss wall is not given where needed.
    """
    parent = primary.strip(hole, "parent")
    found = {
        "screw_tension": StripResult(area=hole.stress_area, stress=hole.screw_tensile_min),
        "screw_thread_strip": primary.strip(hole, "screw"),
        "parent_thread_strip": parent,
        "flank_bearing": primary.flank_bearing_load(hole, parent),
    }
    if hole.state == "repaired":
        major, pitch_diameter, stress = (
            hole.needed(name, "for the state repaired")
            for name in ("screw_major", "insert_pitch_diameter", "wire_shear")
        )
        at = (hole.screw_engaged, hole.pitch, major, pitch_diameter)
        area = strip_area_internal(*at, tan_half_angle=hole.tan_half_angle)
        found["insert_thread_strip"] = StripResult(
            area=area, stress=stress, notes=(fact("insert_as_solid_thread"),)
        )
    if not np.isnan(hole.boss_diameter).all():
        flow = hole.needed("flow_stress", "where a boss diameter is given")
        load = boss_wall_load(
            hole.boss_diameter, hole.hole_major_basic, hole.length, flow, hole.tan_half_angle
        )
        found["boss_wall"] = StripResult(
            area=load / flow,
            stress=flow,
            unnamed=hole.boss_wall_factor,
            notes=(fact("boss_wall_not_by_length"),),
        )
    return found


def capacities(hole: StripInputs) -> ModeSet:
    """Return the loads of `results` alone, each of the shape of the inputs.

    Parameters
    ----------
    hole : StripInputs

    Returns
    -------
    ModeSet

    Raises
    ------
    GeometryError
        If threads do not overlap or a boss is not larger than its hole.
    """
    loads = {mode: each.capacity for mode, each in results(hole).items()}
    loads["screw_tension_max"] = hole.stress_area * hole.screw_tensile_max
    shape, names = hole.shape, (*MODES, "screw_tension_max")
    return ModeSet(**{n: np.broadcast_to(loads.get(n, np.inf), shape)[()] for n in names})
