"""What a thread is: basic sizes, and the limits of size of the screw and of the hole."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any, NamedTuple

from .. import files
from ..errors import UnknownNameError, nearest
from ..tables import Reference, cited

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
    """Basic sizes of a thread or of an insert hole, mm. `minor` is that of the hole."""

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
    limits from the basic sizes (zero for most classes).
    """

    pitch: float
    minor: float
    allowance: float
    references: tuple[Reference, ...] = ()


class Classes(NamedTuple):
    """A tolerance class of the hole and one of the screw."""

    hole: str
    screw: str


class BasicSize(NamedTuple):
    """Basic major diameter and pitch in the unit of the standard, rounded as limits start."""

    major: Decimal
    pitch: Decimal


class Tolerances(NamedTuple):
    """Tolerances of one class in the unit of the standard.

    Attributes
    ----------
    pitch, crest : of the pitch diameter; of the screw's major or the hole's minor diameter
    allowance : distance of the screw's greatest and the hole's least limits from the basic sizes
    root : of the screw's minor diameter, where the standard gives one
    references : where they stand
    """

    pitch: Decimal
    crest: Decimal
    allowance: Decimal
    references: tuple[Reference, ...]
    root: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """What a standard of threads does in its own way.

    Attributes
    ----------
    label : in words
    unit : of its tables, mm
    places : decimal places of a limit in that unit
    pitch_depth, minor_depth : of the pitch and the hole's minor diameter below the major, pitches
    hole_classes, screw_classes : in common use, closest first
    default_classes : those taken where none is stated
    stress_area_method : the document that prints the stress area, as a method is named
    stress_depth : of the diameter of the stress area below the major, pitches
    stress_area_reference : where that stands
    references : where the profile of limits stands, beside the thread's own references
    size : basic sizes of a thread
    class_name : a class as the standard writes it, empty if it has none such; told whether it is
        that of a hole
    tolerances : of a thread and class; told whether of a hole, and the diameter to take them at,
        mm, where not the thread's own
    root : greatest and least minor diameter of a screw, from its greatest major and pitch
        diameter, its least pitch diameter, its pitch and its tolerances
    minor_places : decimal places of the hole's least and greatest minor diameter, from the major
        diameter and the class
    """

    label: str
    unit: Decimal
    places: int
    pitch_depth: Decimal
    minor_depth: Decimal
    hole_classes: tuple[str, ...]
    screw_classes: tuple[str, ...]
    default_classes: Classes
    stress_area_method: str
    stress_depth: float
    stress_area_reference: Reference
    references: tuple[Reference, ...] = ()
    size: Callable[[Thread], BasicSize]
    class_name: Callable[[str, bool], str]
    tolerances: Callable[[Thread, str, bool, float | None], Tolerances]
    root: Callable[[BasicSize, Decimal, Decimal, Tolerances], tuple[Decimal, Decimal]]
    minor_places: Callable[[Decimal, str], tuple[int, int]]

    @classmethod
    def of(cls, name: str, **own: Any) -> System:
        """Return the system of a name in `data/thread_systems.toml`, with `own` functions."""
        told = dict(files.data("thread_systems.toml")[name])
        told |= {each: Decimal(told[each]) for each in ("unit", "pitch_depth", "minor_depth")}
        told |= {each: tuple(told[each]) for each in ("hole_classes", "screw_classes")}
        told["default_classes"] = Classes(*told["default_classes"])
        (told["stress_area_reference"],) = cited(f"{name}-stress-area")
        return cls(**told, **own)

    def millimetres(self, size: Decimal) -> float:
        """Convert exactly; a limit printed in inches is not rounded a second time."""
        return float(size * self.unit)

    def printed(self, size: float) -> float:
        """Round a size as the standard prints it, mm."""
        unit = float(self.unit)
        return round(round(size / unit, self.places) * unit, 6)

    def classes(self, internal: bool) -> tuple[str, ...]:
        """Return the classes in common use, of holes or of screws."""
        return self.hole_classes if internal else self.screw_classes

    def canonical_class(self, text: str, *, internal: bool) -> str:
        """Return a class as the standard writes it, or refuse it with the nearest ones."""
        text = str(text)
        name = self.class_name(text.strip(), internal)
        if name:
            return name
        kind, allowed = "hole" if internal else "screw", self.classes(internal)
        close = nearest(text, allowed) or allowed[:3]
        raise UnknownNameError.of(
            "unknown_class", kind=kind, text=text, system=self, close=" or ".join(close)
        )


def rounded(value: Decimal | float, places: int) -> Decimal:
    """Round half to even, as ASME B1.30 rounds.

    Parameters
    ----------
    value : Decimal | float
    places : int

    Returns
    -------
    Decimal
    """
    return Decimal(value).quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN)


def below(size: BasicSize, depth: Decimal, places: int) -> Decimal:
    """Diameter a multiple of the pitch below the major: product to six places, then the size.

    Parameters
    ----------
    size : BasicSize
    depth : Decimal
    places : int

    Returns
    -------
    Decimal
    """
    return rounded(size.major - rounded(depth * size.pitch, 6), places)
