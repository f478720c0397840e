"""One joint as the calculation sees it, and what the calculation says of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from ..arrays import Floats
from ..errors import looked_up
from ..facts import Fact
from ..frames import brief
from ..materials import Parent, Screw, Wire
from ..strength.sharing.distribution import StateSharing
from ..tables import Reference
from ..threads.profile import Thread

#: Loads and lengths that agree this closely are called equal: the third digit is not known better.
EQUAL = 0.005
#: Lengths that agree to a nanometre are the same.
ROUNDING = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowable:
    """A strength used in the calculation, MPa, the fact that names it, and where it is from.

    Where `factors` are named, the value is `start` times all of them: the references then stand
    for what they start from and for the factors, not for the value itself. `start` is NaN where
    the value comes about in another way.
    """

    value: float
    named: Fact
    references: tuple[Reference, ...]
    start: float = math.nan
    factors: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredDiameters:
    """Diameters measured on the parts, mm; used when the tolerance position is `measured`.

    None for what does not exist yet: it has the limit of its class at minimum material.
    """

    screw_major: float | None = None
    screw_pitch: float | None = None
    hole_minor: float | None = None
    hole_pitch: float | None = None
    insert_hole_minor: float | None = None
    insert_hole_pitch: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """One screw in one hole before and after the repair; mm, N, MPa, degC.

    `boss_diameter`, `screw_reach`, `edge_distance`, `part_thickness` and `hole_depth` (of a blind
    hole) are None where not known: the parent is then thick, the screw long enough, the edge far.
    `hole_condition` is that of the hole as found, `damaged_diameter` the largest diameter at which
    metal is missing there; None where the new hole removes all of the old thread anyhow.
    `countersink_depth` is the most that either face may be countersunk. Other repairs ask for the
    part of the original hole's threads that is lost, from 0 to 1, for the full thread that it could
    offer to a longer screw, and for the outside of a solid threaded insert, thin or heavy.
    """

    thread: Thread
    hole_class: str
    screw_class: str
    insert_hole_class: str
    screw: Screw
    parent: Parent
    parent_shear: Allowable
    parent_tensile: Allowable
    parent_yield: Allowable | None
    flow_stress: Allowable
    wire: Wire
    wire_shear: Allowable
    engagement: float
    insert_length: float
    insert_kind: str = "free-running"
    tolerance_position: str = "minimum-material"
    measured: MeasuredDiameters | None = None
    hole_kind: str = "through"
    hole_depth: float | None = None
    part_thickness: float | None = None
    screw_reach: float | None = None
    set_down_min: float = 0.0
    set_down_max: float = 0.0
    countersink_depth: float = 0.0
    boss_diameter: float | None = None
    boss_support: str = "unknown"
    edge_distance: float | None = None
    hole_condition: str = "stripped"
    damaged_diameter: float | None = None
    damaged_fraction: float | None = None
    engagement_available: float | None = None
    bush_diameter_thin: float | None = None
    bush_diameter_heavy: float | None = None
    temperature: float = 20.0
    references: tuple[Reference, ...] = ()

    __repr__ = brief

    @property
    def strengths(self) -> tuple[float, float, float]:
        """Shear and tensile strength of the parent and the flow stress of its wall, MPa."""
        return self.parent_shear.value, self.parent_tensile.value, self.flow_stress.value


@dataclass(frozen=True, slots=True, kw_only=True)
class StateSizes:
    """The diameters that enter the strip areas of one state, mm, at one tolerance position.

    Attributes
    ----------
    crest : outside of what pulls on the parent's thread: the screw, or the fitted insert
    hole_pitch, hole_minor : pitch and minor diameter of the hole tapped in the parent
    hole_major : basic major diameter of that hole, the D of every wall factor
    screw_major, screw_pitch : of the screw
    inner_pitch, inner_minor : of the thread the screw turns in: the hole, or the fitted insert
    thread_height : overlap of crest and hole over the basic thread height (100 % is the basic
        profile; ISO 68-1 and ASME B1.1: 5/8 H; BS 84: 0.6403 P)
    """

    crest: float
    hole_pitch: float
    hole_minor: float
    hole_major: float
    screw_major: float
    screw_pitch: float
    inner_pitch: float
    inner_minor: float
    thread_height: float
    references: tuple[Reference, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetStep:
    """One line of the engagement budget: its id, what is added or lost, mm, and why."""

    step: str
    mm: Floats
    why: Fact


@dataclass(frozen=True, slots=True, kw_only=True)
class ModeResult:
    """One failure mode by one method: area mm2, stress MPa, factor, capacity N.

    `basis` says which strength it is: ultimate, yield, proof; `valid` whether the case lies
    within the range of the method's own document.
    """

    mode: str
    method: str
    area: float
    stress: float
    factor: float
    capacity: float
    primary: bool
    basis: str = "ultimate"
    valid: bool = True
    factors: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[Fact, ...] = ()

    def kept(self, *names: str) -> float:
        """What its factors of these names leave of the load."""
        return math.prod(self.factors.get(name, 1.0) for name in names)


@dataclass(frozen=True, slots=True, kw_only=True)
class StateResult:
    """What one state carries.

    `pull_out` is the lowest load that pulls the screw out, by a thread that strips or a boss wall
    that gives way, `strength` the lowest capacity of all primary modes, `required_engagement` the
    length of full thread at which the strongest screw of its class breaks first (NaN where no
    length does).
    """

    state: str
    engagement: float
    budget: tuple[BudgetStep, ...]
    sizes: StateSizes
    modes: tuple[ModeResult, ...]
    governing_mode: str
    pull_out_mode: str
    pull_out: float
    strength: float
    required_engagement: float

    __repr__ = brief

    def mode(self, name: str) -> ModeResult:
        """Return the primary result of one mode."""
        return looked_up("mode", name, {m.mode: m for m in self.modes if m.primary})

    @property
    def rivals(self) -> Mapping[str, ModeResult]:
        """Strip load of the parent's thread by every published method, by its id in `METHODS`."""
        strips = (m for m in self.modes if m.mode == "parent_thread_strip" and not m.primary)
        return {m.method.removesuffix("_unfactored"): m for m in strips}


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """One factor of the ratio repaired over original."""

    name: str
    ratio: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointSharing:
    """Load sharing of one state of a joint.

    Attributes
    ----------
    state, engagement : the hole, and its engaged length, mm
    by_boundary : the result for each support that the boss may have
    sliding : the same with a coil that slides on both flanks instead of sticking fast; empty for
        the original hole. The two bracket the real coil.
    boundary : the support shown, that of the least even sharing
    references : where the formulas, the moduli and the assumed numbers come from

    Efficiency, useful length and capacity are NaN where the parent's elongation or yield strength
    is not known, and every number where an elastic constant is not.
    """

    state: str
    engagement: float
    by_boundary: Mapping[str, StateSharing]
    sliding: Mapping[str, StateSharing]
    boundary: str
    references: tuple[Reference, ...]

    @property
    def shown(self) -> StateSharing:
        """The result of the support that is shown."""
        return self.by_boundary[self.boundary]


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaluation:
    """Both states of one joint, compared; `sharing` by state, where it was asked for."""

    joint: Joint
    original: StateResult
    repaired: StateResult
    effects: tuple[Effect, ...]
    facts: tuple[Fact, ...]
    references: tuple[Reference, ...]
    sharing: Mapping[str, JointSharing] = field(default_factory=dict)

    def __repr__(self) -> str:
        of = f"{self.joint.thread.designation}, {self.joint.screw.id}, {self.joint.parent.id}"
        return f"<Evaluation of {of}: pull-out ratio {self.pull_out_ratio:.3f} in sound metal>"

    @property
    def states(self) -> Mapping[str, StateResult]:
        """The two states by name."""
        return {"original": self.original, "repaired": self.repaired}

    @property
    def pull_out_ratio(self) -> float:
        """Pull-out strength repaired over original."""
        return self.repaired.pull_out / self.original.pull_out

    @property
    def strength_ratio(self) -> float:
        """Strength repaired over original, the screw included."""
        return self.repaired.strength / self.original.strength
