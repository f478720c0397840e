"""What a thread is: basic sizes, and the limits of size of the screw and of the hole."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple, Protocol

from ..sources import Reference

#: Height of the fundamental triangle over the pitch, 60 degree thread: sqrt(3)/2 (ISO 68-1).
TRIANGLE_60 = math.sqrt(3) / 2
#: Tangent of half the included flank angle of the 60 degree thread.
TAN_30 = 1 / math.sqrt(3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A thread of a known series with its basic sizes.

    Attributes
    ----------
    designation : canonical, without class: "M8x1.25", "1/4-20 UNC", "3/8 BSF"
    series : words of the standard: "ISO metric coarse", "UNC", "BSF"
    system : "metric", "unified" or "whitworth"
    major, pitch : basic major diameter and pitch, mm
    flank_angle : included angle of the profile, degrees
    hole_class, screw_class : the class written in the designation, or None
    references : where the sizes come from
    """

    designation: str
    series: str
    system: str
    major: float
    pitch: float
    flank_angle: float
    hole_class: str | None = None
    screw_class: str | None = None
    references: tuple[Reference, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BasicDiameters:
    """Basic sizes of a thread, mm, as its standard prints them. `minor` is that of the hole."""

    major: float
    pitch: float
    minor: float
    references: tuple[Reference, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ExternalLimits:
    """Limits of size of the screw, mm. `minor` is that of the root form the standard tables.

    The minor diameter minimum follows from the least root radius; no strength method uses it.
    """

    screw_class: str
    major_min: float
    major_max: float
    pitch_min: float
    pitch_max: float
    minor_max: float
    minor_min: float
    references: tuple[Reference, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class InternalLimits:
    """Limits of size of a tapped hole, mm. The major maximum is not a limit of the standards."""

    hole_class: str
    minor_min: float
    minor_max: float
    pitch_min: float
    pitch_max: float
    major_min: float
    references: tuple[Reference, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class InternalTolerances:
    """Tolerances of a tapped hole without its basic sizes, mm.

    They are what an enlarged hole of the same thread takes over: `pitch` and `minor` the
    tolerances of the pitch and of the minor diameter, `allowance` the distance of the least
    limits from the basic sizes (zero for most classes), `diameter` the nominal diameter that they
    were taken at.
    """

    hole_class: str
    pitch: float
    minor: float
    allowance: float
    diameter: float
    references: tuple[Reference, ...] = ()


class Classes(NamedTuple):
    """A tolerance class of the hole and one of the screw."""

    hole: str
    screw: str


class ThreadSystem(Protocol):
    """What a system of threads answers; each of `iso`, `unified` and `whitworth` is one.

    Attributes
    ----------
    HOLE_CLASSES, SCREW_CLASSES : the usual classes, closest first
    DEFAULT_CLASSES : those taken where none is stated
    STRESS_AREA_METHOD : the document that prints the stress area, as a method is named
    """

    HOLE_CLASSES: tuple[str, ...]
    SCREW_CLASSES: tuple[str, ...]
    DEFAULT_CLASSES: Classes
    STRESS_AREA_METHOD: str

    def canonical_class(self, text: str, *, internal: bool) -> str:
        """Return a class as the standard writes it, or refuse it with the nearest ones."""

    def printed(self, size: float) -> float:
        """Round a size as the standard prints it, mm."""

    def basic_diameters(self, thread: Thread) -> BasicDiameters:
        """Return the basic diameters as the standard prints them, mm."""

    def external_limits(
        self, thread: Thread, screw_class: str, *, engagement: float | None = None
    ) -> ExternalLimits:
        """Return the limits of size of a screw, mm."""

    def internal_limits(
        self, thread: Thread, hole_class: str, *, engagement: float | None = None
    ) -> InternalLimits:
        """Return the limits of size of a tapped hole, mm."""

    def internal_tolerances(
        self, thread: Thread, hole_class: str, *, at_diameter: float | None = None
    ) -> InternalTolerances:
        """Return the tolerances of a tapped hole, mm."""

    def stress_area(self, thread: Thread, *, high_strength: bool, screw_class: str) -> float:
        """Return the tensile stress area of a screw, mm2."""

    def stress_area_reference(self, *, high_strength: bool = False) -> Reference:
        """Return where the stress area comes from."""
