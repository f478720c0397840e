"""What the live pictures are drawn from; light, so that numbers need no drawing."""

from __future__ import annotations

from dataclasses import dataclass

from ..arrays import FloatArray
from ..joint.records import StateSizes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class State:
    """One state at a position of the controls; mm and N.

    `parent_strip` is the strip load of the parent's thread alone; `curve` the pull-out strength
    over the lengths of `Strip`, `modes` what governs it there, `limit` the load at which the first
    thread of a parent that stretches little parts (NaN where its elongation is not known);
    `crossing` the nominal length at which the screw of maximum strength fails before the thread,
    NaN where none.
    """

    nominal: float
    engaged: float
    pull_out: float
    parent_strip: float
    pull_out_mode: str
    curve: FloatArray
    modes: tuple[str, ...]
    limit: FloatArray
    crossing: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strip:
    """Both states; load of a screw of minimum and maximum strength, N; `scale` ends the axis."""

    diameter: float
    pitch: float
    lengths: FloatArray
    original: State
    repaired: State
    screw_min: float
    screw_max: float
    scale: float

    @property
    def ratio(self) -> float:
        """Pull-out strength repaired over original."""
        return self.repaired.pull_out / self.original.pull_out

    def state(self, name: str) -> State:
        """Return one of the two states by name."""
        return self.original if name == "original" else self.repaired


@dataclass(frozen=True, slots=True, kw_only=True)
class StripTorque:
    """Torque that strips one condition, and that yields the screw, N·m, in one friction class."""

    state: str
    friction: str
    words: str
    minimum: float
    maximum: float
    screw_minimum: float
    screw_maximum: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Section:
    """One condition as it is cut through its axis; mm.

    `diameter` is that of the screw, `nominal` the length tapped, `engaged` what of it carries;
    `loads` the part of the load that each thread carries, from the bearing face.
    """

    state: str
    diameter: float
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
    threads : int
        Whole threads that were solved.
    boss : float
        Outside that was solved, mm; `cut_off` where the parent reaches further.
    """

    corners: FloatArray
    motion: FloatArray
    ratio: float
    threads: int
    boss: float
    cut_off: bool
