"""What a strip method is given, what it answers, and what it says of itself."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from ..arrays import Bools, Floats, not_negative, plain, positive, read_only
from ..errors import InputError, check_known
from ..facts import Fact, Value, fact
from ..tables import Reference, cited
from ..threads.profile import TAN_30
from .areas import strip_area_external, strip_area_internal

#: The states of a hole a method is asked about.
STATES = ("original", "repaired")
#: Whose thread it is asked about.
THREADS = ("parent", "screw")


def is_parent(thread: str) -> bool:
    """Return whether a thread is the parent's; what is neither would get the screw's numbers.

    Parameters
    ----------
    thread : "parent" or "screw"

    Returns
    -------
    bool

    Raises
    ------
    UnknownNameError
        If it is neither.
    """
    check_known("thread of a joint", thread, THREADS)
    return thread == "parent"


@dataclass(frozen=True, kw_only=True, eq=False)
class StripInputs:
    """One hole, or an array of holes, at one tolerance position. Fields broadcast; NaN passes.

    Attributes
    ----------
    state : "original" (tapped for the screw) or "repaired" (tapped for the insert)
    length : mm
        Engaged length of full thread in the parent.
    pitch, major_basic : mm
        Of the screw's thread.
    external_major : mm
        Crest that shears the parent: the screw's major diameter, or the outside of the fitted
        insert.
    external_pitch_diameter : mm
        Of the screw.
    internal_minor : mm
        Of the thread the screw turns in: the hole's own, or that inside the fitted insert.
    internal_pitch_diameter, hole_minor, hole_major_basic : mm
        Of the hole actually tapped; its basic major diameter is d, or d + 1.299 P.
    parent_shear, parent_tensile : MPa
        Ultimate strengths of the parent.
    screw_tensile_min, screw_tensile_max, screw_shear : MPa
        Ultimate strengths of the screw; the shear strength is a least value.
    stress_area : mm2
        Tensile stress area of the screw.
    boss_diameter : mm
        Outside diameter of the boss round the hole; NaN means thick or unknown.
    screw_length : mm, optional
        Engaged length of full screw thread, where it differs from `length`.
    tan_half_angle : optional
        Tangent of half the flank angle.
    screw_major, insert_pitch_diameter : mm
        Major diameter of the screw and pitch diameter of the thread inside the fitted insert;
        the modes of the state "repaired" need them.
    wire_shear : MPa
        Ultimate shear strength of the insert's wire; the modes of the state "repaired" need it.
    flow_stress : MPa
        Stress at which the boss wall gives way; needed where a boss diameter is given. See
        `thread_repair.joint.wall.flow_stress`.
    wall_factor : optional
        Factor of the primary model on strip loads in a thin boss from another origin than C1; the
        lower of the two is used, or the one that is not NaN.
    boss_wall_factor : optional
        Factor on the load of the boss wall.
    """

    state: str
    length: Floats
    pitch: Floats
    major_basic: Floats
    external_major: Floats
    external_pitch_diameter: Floats
    internal_minor: Floats
    internal_pitch_diameter: Floats
    hole_minor: Floats
    hole_major_basic: Floats
    parent_shear: Floats
    parent_tensile: Floats
    screw_tensile_min: Floats
    screw_tensile_max: Floats
    screw_shear: Floats
    stress_area: Floats
    boss_diameter: Floats = np.nan
    screw_length: Floats | None = None
    tan_half_angle: Floats = TAN_30
    screw_major: Floats | None = None
    insert_pitch_diameter: Floats | None = None
    wire_shear: Floats | None = None
    flow_stress: Floats | None = None
    wall_factor: Floats | None = None
    boss_wall_factor: Floats = 1.0

    def __post_init__(self) -> None:
        check_known("state", self.state, STATES)
        given = self._given
        for name, value in zip(given, positive("length", "screw_length", **given), strict=True):
            object.__setattr__(self, name, read_only(value))

    @property
    def _given(self) -> dict[str, Any]:
        """The numbers that are given, by name."""
        found = {name: getattr(self, name) for name in _NUMBERS}
        return {name: x for name, x in found.items() if x is not None or name not in _MAY_LACK}

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape all fields broadcast to."""
        return np.broadcast_shapes(*{value.shape for value in self._given.values()})

    @property
    def screw_engaged(self) -> Floats:
        """Engaged length of full screw thread, mm."""
        return self.length if self.screw_length is None else self.screw_length

    def needed(self, name: str, why: str) -> Floats:
        """Return a number that `why` cannot do without."""
        value: Floats | None = getattr(self, name)
        if value is None:
            raise InputError(f"{name} must be given {why}")
        return value

    def area(self, thread: str, length: Floats | None = None) -> Floats:
        """Shear area of the parent's or the screw's thread, mm2 (FED-STD-H28/2B, Appendix B).

        Over what is engaged, unless another length is given.
        """
        parent = is_parent(thread)
        formula = strip_area_internal if parent else strip_area_external
        engaged = self.length if parent else self.screw_engaged
        crest = self.external_major if parent else self.internal_minor
        flank = self.internal_pitch_diameter if parent else self.external_pitch_diameter
        over = engaged if length is None else length
        return formula(over, self.pitch, crest, flank, tan_half_angle=self.tan_half_angle)

    def tensile(self, thread: str) -> Floats:
        """Ultimate tensile strength of the parent, or the least one of the screw, MPa."""
        return self.parent_tensile if is_parent(thread) else self.screw_tensile_min

    def shear(self, thread: str) -> Floats:
        """Ultimate shear strength of the parent or of the screw, MPa."""
        return self.parent_shear if is_parent(thread) else self.screw_shear

    @cached_property
    def strength_ratio(self) -> Floats:
        """Strength ratio Rs of the parent's over the screw's thread, at equal lengths."""
        one = np.float64(1.0)
        parent, screw = (self.area(each, one) * self.tensile(each) for each in ("parent", "screw"))
        return plain(parent / screw)

    def with_length(self, length: ArrayLike) -> StripInputs:
        """Return the same hole with parent and screw thread engaged over `length`."""
        (given,) = not_negative(length=length)
        return dataclasses.replace(self, length=given, screw_length=None)


_NUMBERS = tuple(f.name for f in dataclasses.fields(StripInputs) if f.name != "state")
_MAY_LACK = {f.name for f in dataclasses.fields(StripInputs) if f.default is None}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StripResult:
    """Load of one failure mode by one method; who asks for it knows which.

    Attributes
    ----------
    area : mm2
    stress : MPa
    factors : name and value of each factor, in the order of the formula
    unnamed : a factor that is shown without a name
    capacity : N
        area x stress x every factor; NaN where the document gives no value.
    valid : bool
        Whether the case lies within the document's own range.
    notes : what lies outside the range, or has to be known of it
    """

    area: Floats
    stress: Floats
    factors: Mapping[str, Floats] = field(default_factory=dict)
    unnamed: Floats = 1.0
    capacity: Floats = field(init=False)
    valid: Bools = True
    notes: tuple[Fact, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "factors", dict(self.factors))
        for name in ("area", "stress", "unnamed"):
            object.__setattr__(self, name, plain(getattr(self, name)))
        object.__setattr__(self, "capacity", plain(self.area * self.stress * self.factor))

    @property
    def factor(self) -> Floats:
        """Product of all factors."""
        return math.prod(self.factors.values(), start=np.float64(1.0) * self.unnamed)


def rival_strip(method: Method, inputs: StripInputs, thread: str) -> StripResult:
    """Return the strip load by a method beside the verdict's; NaN with the reason where none is.

    A document that does not fit a joint is no fault of the joint.

    Parameters
    ----------
    method : Method
    inputs : StripInputs
    thread : "parent" or "screw"

    Returns
    -------
    StripResult
    """
    found = method.strip(inputs, thread)
    if not np.isnan(found.capacity).any():
        return found
    return dataclasses.replace(found, notes=(fact("method_no_value"), *found.notes))


@dataclass(frozen=True, slots=True)
class Method:
    """A published way to work out a strip load. When it was meant to hold stands in its module.

    Attributes
    ----------
    id, title : name in tables, of its module and of what it rests on; name in text
    strip : strip load of one thread, "parent" or "screw"
    threads : those for which the document has one
    lost_pitches : length at the ends that it takes as bearing nothing
    rests_on : names in the table of references, where not its id alone
    for_wire_inserts : False where the document is about another kind of insert: its loads are
        shown as outside its range and take part in no ratio and no spread
    """

    id: str
    title: str
    strip: Callable[[StripInputs, str], StripResult]
    threads: tuple[str, ...] = ("parent", "screw")
    lost_pitches: float = 0.0
    rests_on: tuple[str, ...] = ()
    for_wire_inserts: bool = True

    @property
    def references(self) -> tuple[Reference, ...]:
        """What it rests on."""
        return cited(*(self.rests_on or (self.id,)))

    def required_length(self, inputs: StripInputs, load: ArrayLike) -> Floats:
        """Length of full thread at which neither thread strips below a load.

        Parameters
        ----------
        inputs : StripInputs
            Its lengths are not used: every strip load is proportional to the length that bears.
        load : array_like, N
            For "the screw breaks first": greatest tensile strength times stress area.

        Returns
        -------
        float or ndarray, mm
        """
        (force,) = not_negative(load=load)
        lost = self.lost_pitches * inputs.pitch
        unit = inputs.with_length(1.0 + lost)
        lengths = [force / self.strip(unit, thread).capacity for thread in self.threads]
        return plain(np.maximum.reduce(np.broadcast_arrays(*lengths)) + lost)


def flag(where: ArrayLike, id_: str, **values: Value) -> tuple[Fact, ...]:
    """Return the fact if the condition holds anywhere.

    Parameters
    ----------
    where : array_like of bool
    id_ : str
    **values : Value

    Returns
    -------
    tuple of Fact
    """
    return (fact(id_, **values),) if np.any(where) else ()
