"""What the live pictures are drawn from; light, so that numbers need no drawing."""

from __future__ import annotations

from dataclasses import dataclass

from ..arrays import FloatArray
from ..joint.records import StateSizes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class State:
    """One state at a position of the controls; mm and N.

    `parent_strip` is the strip load of the parent's thread alone; `curve` the pull-out strength
    over the lengths of `Strip`; `crossing` the nominal length
    at which the strongest screw of the class breaks before the thread strips, NaN where none.
    """

    nominal: float
    engaged: float
    pull_out: float
    parent_strip: float
    pull_out_mode: str
    curve: FloatArray
    crossing: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strip:
    """Both states, and the load of the weakest and the strongest screw of the class, N."""

    diameter: float
    pitch: float
    lengths: FloatArray
    original: State
    repaired: State
    screw_min: float
    screw_max: float

    @property
    def ratio(self) -> float:
        """Pull-out strength repaired over original."""
        return self.repaired.pull_out / self.original.pull_out

    def state(self, name: str) -> State:
        """Return one of the two states by name."""
        return self.original if name == "original" else self.repaired


@dataclass(frozen=True, slots=True, kw_only=True)
class StripTorque:
    """Torque that strips one state with one friction class, N·m, least and highest.

    `yields` is the preload share: True where the screw yields under pull and twist before the
    thread strips, at the highest friction.
    """

    state: str
    friction: str
    words: str
    least: float
    highest: float
    screw_least: float
    screw_highest: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Section:
    """One state as it is cut through its axis; mm.

    `nominal` is the length tapped, `engaged` what of it carries; `loads` the part of the load
    that each thread carries, from the bearing face.
    """

    state: str
    sizes: StateSizes
    pitch: float
    nominal: float
    engaged: float
    boss: float
    loads: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CollapseField:
    """Motion of the parent at collapse.

    Attributes
    ----------
    corners : ndarray, shape (t, 3, 2), pitches
        Depth below the bearing face and radius of the corners of each triangle.
    motion : ndarray, shape (t, 3, 2)
        Their velocities over that of the screw, towards the face and outwards.
    ratio : float
        The upper bound of the strip load over the load of the area formula.
    wall : float
        Outside of the boss that was solved, in nominal diameters.
    """

    corners: FloatArray
    motion: FloatArray
    ratio: float
    wall: float
