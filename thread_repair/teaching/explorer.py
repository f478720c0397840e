"""The positions of the controls, and what the calculation says there: pure functions only.

Nothing is kept between two positions but memories of pure functions, so that the same position
always gives the same numbers and the same picture, in a browser or out of it.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from functools import cache, lru_cache
from typing import Any

import numpy as np

from .. import case as cases
from .. import materials, threads, tightening
from ..arrays import FloatArray, Floats, read_only
from ..case.schema import KEYS
from ..errors import InputError, ThreadRepairError, ValidityError
from ..facts import Term
from ..files import data
from ..joint import Joint, evaluate, screw_tension_max, sweep
from ..joint.bounds import Sizes
from ..joint.lengths import required_engagement
from ..joint.sharing import not_assessed, share_of
from ..joint.sizes import sizes, stress_area
from ..strength.areas import strip_area_internal
from ..strength.collapse.bounds import Mechanism, collapse_mechanism
from ..strength.modes import PULL_OUT_MODES
from ..strength.sharing.distribution import StateSharing
from ..strength.strip import STATES
from ..tightening import screw_shape
from ..words import sentence, term

#: Label and positions of each control, by its name in `Controls`.
CONTROLS = data("teaching_controls.toml")
#: How the parent of every load sharing shown is held, in the words of a report: no control asks.
_BOUNDARY = "compression"
SUPPORT = term(Term("support", _BOUNDARY))
#: Lengths at which the curves are drawn, in nominal diameters.
_CURVE = read_only(np.linspace(0.35, 3.0, 54))


@dataclass(frozen=True, slots=True, kw_only=True)
class Controls:
    """Where the eight controls stand; a length need not be one of those that a control offers.

    Attributes
    ----------
    thread, parent, screw : names as in a case
    engagement : full thread of the original hole, in nominal diameters
    boss : outside of the boss in nominal diameters, infinite for a thick parent
    insert_length : nominal, in nominal diameters
    tolerance_position : of every diameter, in both holes
    sliding_coil : the coil slides on its flanks, instead of being stuck fast
    """

    thread: str = "M8x1.25"
    parent: str = "6061-T6"
    engagement: float = 1.5
    boss: float = 3.0
    screw: str = "8.8"
    insert_length: float = 1.5
    tolerance_position: str = "minimum-material"
    sliding_coil: bool = False

    def __post_init__(self) -> None:
        for name, value in asdict(self).items():
            if isinstance(value, float) and not value > 0:
                raise InputError(f"{name}: expected a length above zero, got {value!r}")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class State:
    """One state at a position of the controls; mm and N.

    `parent_strip` is the strip load of the parent's thread alone; `curve` the pull-out strength
    over the lengths of `Strip`, `modes` what governs it there, `limit` the load at which the first
    thread of a parent that stretches little parts (NaN where its elongation is not known);
    `crossing` the nominal length at which the screw of maximum strength fails before the thread,
    NaN where none that is drawn.
    """

    nominal: float
    engaged: float
    pull_out: float
    parent_strip: float
    pull_out_mode: str
    curve: FloatArray
    modes: Sequence[str]
    limit: FloatArray
    crossing: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strip:
    """Both states; load of a screw of minimum and maximum strength, N; `scale` ends the axis."""

    diameter: float
    lengths: FloatArray
    states: Mapping[str, State]
    screw_min: float
    screw_max: float
    scale: float

    @property
    def ratio(self) -> float:
        """Pull-out strength repaired over original."""
        return self.states["repaired"].pull_out / self.states["original"].pull_out


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


@cache
def choices(name: str) -> tuple[str | float | bool, ...]:
    """Return the positions that a control offers; parents from the weakest to the strongest."""
    offered = CONTROLS[name]["offered"]
    return tuple(sorted(offered, key=parent_shear) if name == "parent" else offered)


def fits(thread: str, screw: str) -> bool:
    """Whether a class of screws has a strength at the diameter of a thread."""
    try:
        materials.screw(screw, threads.thread(thread).major)
    except ThreadRepairError:
        return False
    return True


def parent_shear(name: str) -> float:
    """Return the shear strength of a parent, MPa."""
    return joint(Controls(parent=name)).parent_shear.value


def start(case: cases.Case) -> Controls:
    """Return the position of the controls that is the joint of a case.

    Raises
    ------
    InputError
        If the case states what the controls cannot show.
    """
    known = choices("tolerance_position")
    if case.tolerance_position not in known:
        raise InputError.of("live_without_measured", known=", ".join(map(str, known)), case=case)
    thread = threads.thread(case.thread)
    diameter, plain = thread.major, threads.thread(thread.designation)
    usual = threads.default_classes(thread) == threads.default_classes(plain)
    at = Controls(
        thread=thread.designation if usual else case.thread,
        parent=case.parent,
        screw=case.screw,
        engagement=case.engagement / diameter,
        boss=math.inf if case.boss_diameter is None else case.boss_diameter / diameter,
        insert_length=case.insert_length / diameter,
        tolerance_position=case.tolerance_position,
    )
    shown, stated = joint(at), cases.joint(case)
    ours, theirs = (evaluate(each).states for each in (shown, stated))
    if not all(math.isclose(ours[each].pull_out, theirs[each].pull_out) for each in STATES):
        stands = {key for key in _BESIDE if getattr(case, key) != KEYS[key].default}
        same = {key for key in _BESIDE if getattr(shown, key, 0) == getattr(stated, key, 1)}
        beside = [key for key in _BESIDE if key in stands - same]
        raise InputError.of("live_shows_other_loads", keys=", ".join(beside))
    return at


#: What no control shows and a load may depend on.
_BESIDE = (
    "hole_class", "screw_class", "insert_hole_class", "boss_support", "screw_reach", "temperature",
    "parent_hardness", "parent_shear_strength", "parent_tensile_strength", "parent_yield_strength",
    "casting_factor", "set_down_rule", "insert_wire", "insert_wire_strength",
)  # fmt: skip


def joint(controls: Controls) -> Joint:
    """Return the joint at a position; thread, parent and screw are looked up once only."""
    named = {name: getattr(controls, name) for name in ("thread", "parent", "screw")}
    base = cases.joint_of(**named)
    diameter = base.thread.major
    return replace(
        base,
        engagement=controls.engagement * diameter,
        insert_length=controls.insert_length * diameter,
        boss_diameter=None if math.isinf(controls.boss) else controls.boss * diameter,
        tolerance_position=controls.tolerance_position,
    )


def _swept(here: Joint, lengths: FloatArray) -> dict[str, dict[str, FloatArray]]:
    """Return the columns of a sweep over nominal lengths for each state."""
    columns = sweep(here, lengths=lengths, parents={here.parent.id: here.strengths})
    return {s: {n: v[columns["state"] == s] for n, v in columns.items()} for s in STATES}


@lru_cache(maxsize=256)
def _curves(controls: Controls) -> dict[str, dict[str, Any]]:
    """Pull-out strength, its mode and brittle limit over the lengths, N, by state as in `State`."""
    here, found = joint(controls), {}
    for state, swept in _swept(here, _CURVE * here.thread.major).items():
        loads = [swept[f"{mode}_N"] for mode in PULL_OUT_MODES]
        shared = _share(controls, state, swept["engaged_mm"])
        found[state] = {
            "curve": read_only(swept["pull_out_N"]),
            "modes": read_only(np.array(PULL_OUT_MODES)[np.argmin(loads, axis=0)]),
            "limit": read_only(swept["parent_thread_strip_N"] * np.asarray(shared.efficiency)),
        }
    return found


@lru_cache(maxsize=64)
def strip(controls: Controls) -> Strip:
    """Return pull-out strength against length, its mode, and where the screw takes over.

    Raises
    ------
    ValidityError
        If no rule covers the wall that is left around the hole.
    """
    here, found = joint(controls), dict[str, State]()
    diameter, nominal = here.thread.major, np.array([here.engagement, here.insert_length])
    curves = _curves(replace(controls, engagement=1.0, insert_length=1.0))
    for at, (state, columns) in enumerate(_swept(here, nominal).items()):
        row = {name: column[at] for name, column in columns.items()}
        if math.isnan(row["pull_out_N"]):
            raise ValidityError.of("no_rule_for_boss", controls=controls, state=state)
        # Not read off the curve, which has few points: as `evaluate` gives it.
        crossing = required_engagement(here, state, float(row["screw_tension_max_N"]))
        crossing += float(row["length_mm"] - row["engaged_mm"])
        found[state] = State(
            nominal=float(row["length_mm"]),
            engaged=float(row["engaged_mm"]),
            pull_out=float(row["pull_out_N"]),
            parent_strip=float(row["parent_thread_strip_N"]),
            pull_out_mode=min(PULL_OUT_MODES, key=lambda mode: row[f"{mode}_N"]),
            crossing=crossing if crossing <= _CURVE[-1] * diameter else math.nan,
            **curves[state],
        )
    return Strip(
        diameter=diameter,
        lengths=_CURVE * diameter,
        screw_min=float(row["screw_tension_N"]),
        screw_max=float(row["screw_tension_max_N"]),
        scale=1.3 * _strongest(controls.thread, controls.screw),
        states=found,
    )


@lru_cache(maxsize=64)
def _strongest(thread: str, screw: str) -> float:
    """Maximum load of the strongest screw offered or stated: fixes the axes."""
    known = {screw, *(each for each in choices("screw") if fits(thread, str(each)))}
    joints = (joint(Controls(thread=thread, screw=str(each))) for each in known)
    return max(float(screw_tension_max(each)) for each in joints)


@lru_cache(maxsize=64)
def sharing(controls: Controls, state: str) -> StateSharing:
    """Return the load sharing of one state, the parent pressed on its bearing face.

    What needs the yield strength or the elongation of a parent that has none is NaN, and all where
    it is `unshared`.
    """
    return _share(controls, state, strip(controls).states[state].engaged)


def unshared(controls: Controls) -> str:
    """Return why the load sharing is not assessed, as a sentence; nothing where it is."""
    found = not_assessed(joint(controls))
    return "" if found is None else sentence(found)


def _share(controls: Controls, state: str, length: Any) -> StateSharing:
    here = joint(controls)
    at = sizes(here, state)
    area = strip_area_internal(length, here.thread.pitch, at.crest, at.hole_pitch)
    return share_of(
        here, state, length, area, boundary=_BOUNDARY, sliding_coil=controls.sliding_coil
    )


@lru_cache(maxsize=64)
def _mechanism(**boss: float) -> Mechanism:
    """Return how a boss strips, which takes longest: few controls change anything of its form."""
    return collapse_mechanism(**boss, support="face")


def collapse(controls: Controls, state: str) -> CollapseField:
    """Return how the parent moves when it strips: solved for this boss and whole threads.

    A wide boss is cut off where its outside stands still. Source: limit analysis of the profile,
    see `thread_repair.strength.collapse`; derived.
    """
    here, length = joint(controls), strip(controls).states[state].engaged
    at, pitch = sizes(here, state), here.thread.pitch
    count = max(1, math.floor(length / pitch + 1e-9))
    outside = min(here.boss_diameter or math.inf, _WIDEST * at.hole_major)
    boss = Sizes.of(here.thread, at)._asdict() | {"n_pitches": count, "boss_diameter": outside}
    solved = _mechanism(**boss)
    area = strip_area_internal(count * pitch, pitch, at.crest, at.hole_pitch)
    places = solved.nodes[solved.triangles]
    return CollapseField(
        corners=np.stack((places[..., 1].max() - places[..., 1], places[..., 0]), axis=-1) / pitch,
        motion=solved.velocities[..., ::-1],
        ratio=float(solved.upper / (area / math.sqrt(3))),
        threads=count,
        boss=outside,
        cut_off=outside != here.boss_diameter,
    )


#: Outside beyond which a boss is not solved further, in major diameters of the hole: there the
#: threads are cut off and the wall stands still.
_WIDEST = 2.2


@lru_cache(maxsize=64)
def strip_torques(controls: Controls) -> Mapping[str, Mapping[str, FloatArray]]:
    """Return the torque that strips each state and that yields the screw, by class of friction.

    At the minimum and the maximum friction of the class, N·m. Thread and head have the same
    friction, and no prevailing torque is added.
    """
    here = joint(controls)
    shape, strips = screw_shape(here.thread, stress_area(here)), strip(controls).states.items()
    found = {}
    for each in tightening.published_ranges("friction"):
        friction = np.array([each.low, each.high])
        lever = shape.lever(friction, friction)
        loads: dict[str, Floats] = {state: at.pull_out for state, at in strips}
        loads["screw"] = shape.yield_preload(here.screw.yield_, friction=friction)
        found[each.title] = {
            name: np.asarray(tightening.torque(load, coefficient=lever))
            for name, load in loads.items()
        }
    return found


def torque_scale(thread: str, screw: str) -> float:
    """Return a torque that ends the scale, whatever the other controls say, N·m."""
    highest = max(each.high for each in tightening.published_ranges("friction"))
    here = joint(Controls(thread=thread, screw=screw))
    lever = screw_shape(here.thread, stress_area(here)).lever(highest, highest)
    return float(tightening.torque(_strongest(thread, screw), coefficient=lever))
