"""The positions of the controls, and what the calculation says there: pure functions only.

Nothing is kept between two positions but memories of pure functions, so that the same position
always gives the same numbers and the same picture, in a browser or out of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from .. import case as cases
from .. import inserts, tables, threads, tightening
from ..arrays import FloatArray
from ..case import Case
from ..errors import InputError, ValidityError, unknown
from ..figures.live_records import Section, State, Strip, StripTorque
from ..joint.records import Joint
from ..joint.sharing import elastic_constants
from ..joint.sizes import sizes
from ..joint.sweep import SweptParent, sweep
from ..strength.modes import PULL_OUT_MODES
from ..strength.strip import STATES

if TYPE_CHECKING:
    from ..strength.sharing.states import StateSharing

THREADS = ("M4x0.7", "M5x0.8", "M6x1", "M8x1.25", "M10x1.5", "M12x1.75")
PARENTS = (
    "AZ91D",
    "AZ31B-H24",
    "356.0-T6-sand",
    "A380.0-die-cast",
    "5052-H32",
    "6061-T6",
    "2024-T351",
    "7075-T651",
    "EN-GJL-250",
)
SCREWS = ("4.8", "5.8", "8.8", "10.9", "12.9", "A2-70")
#: Full thread of the original hole, in nominal diameters.
ENGAGEMENTS = tuple(round(0.5 + 0.125 * i, 3) for i in range(21))
#: Outside of the boss in nominal diameters; infinite is a thick parent.
BOSSES = (1.75, 1.875, 2.0, 2.25, 2.5, 3.0, 4.0, math.inf)
INSERT_LENGTHS = inserts.LENGTHS
TOLERANCE_POSITIONS = ("minimum-material", "mean", "basic")
#: Lengths at which the curves are drawn, in nominal diameters.
_CURVE = np.linspace(0.35, 3.0, 54)
_CURVE.flags.writeable = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Controls:
    """Where the eight controls stand.

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
        for field in fields(self):
            value, allowed = getattr(self, field.name), CHOICES[field.name]
            if value not in allowed:
                if isinstance(value, str):
                    raise unknown(field.name, value, map(str, allowed))
                listed = ", ".join(f"{each:g}" for each in allowed)
                raise InputError(
                    f"{field.name}: {value!r} is no position; expected one of {listed}"
                )


#: Every position of every control.
CHOICES: dict[str, tuple[str | float | bool, ...]] = {
    "thread": THREADS,
    "parent": PARENTS,
    "screw": SCREWS,
    "engagement": ENGAGEMENTS,
    "boss": BOSSES,
    "insert_length": INSERT_LENGTHS,
    "tolerance_position": TOLERANCE_POSITIONS,
    "sliding_coil": (False, True),
}


def start(case: Case) -> Controls:
    """Return the position of the controls nearest to a case.

    Raises
    ------
    UnknownNameError
        If the case's thread, parent or screw is not among the controls.
    """
    diameter = threads.thread(case.thread).major
    boss = math.inf if case.boss_diameter is None else case.boss_diameter / diameter
    position = case.tolerance_position
    return Controls(
        thread=threads.thread(case.thread).designation,
        parent=case.parent,
        screw=case.screw,
        engagement=_nearest(case.engagement / diameter, ENGAGEMENTS),
        boss=math.inf if math.isinf(boss) else _nearest(boss, BOSSES[:-1]),
        insert_length=_nearest(case.insert_length / diameter, INSERT_LENGTHS),
        tolerance_position=position if position in TOLERANCE_POSITIONS else "minimum-material",
    )


def _nearest(value: float, allowed: tuple[float, ...]) -> float:
    return min(allowed, key=lambda each: abs(each - value))


@lru_cache(maxsize=512)
def _base(thread: str, parent: str, screw: str) -> Joint:
    """Return the joint of names alone, as a case with them would be read."""
    return cases.joint(
        cases.read(
            {
                "thread": thread,
                "parent": parent,
                "screw": screw,
                "engagement": "1 D",
                "insert_length": "1 D",
            }
        )
    )


def joint(controls: Controls) -> Joint:
    """Return the joint at a position; thread, parent and screw are looked up once only."""
    base = _base(controls.thread, controls.parent, controls.screw)
    diameter = base.thread.major
    return replace(
        base,
        engagement=controls.engagement * diameter,
        insert_length=controls.insert_length * diameter,
        boss_diameter=None if math.isinf(controls.boss) else controls.boss * diameter,
        tolerance_position=controls.tolerance_position,
    )


@lru_cache(maxsize=64)
def strip(controls: Controls) -> Strip:
    """Return pull-out strength against length, and where the screw takes over.

    Raises
    ------
    ValidityError
        If no rule covers the wall that is left around the hole.
    """
    here = joint(controls)
    diameter = here.thread.major
    lengths = _CURVE * diameter
    nominal = np.append(lengths, (here.engagement, here.insert_length))
    parent = SweptParent(
        id=here.parent.id,
        shear=here.parent_shear.value,
        tensile=here.parent_tensile.value,
        flow_stress=here.flow_stress.value,
    )
    table = sweep(here, lengths=nominal, parents=(parent,))
    own = {"original": -2, "repaired": -1}
    found = {}
    for state in STATES:
        rows = {key: table[key][table["state"] == state] for key in table.keys()}  # noqa: SIM118
        at = own[state]
        if math.isnan(rows["pull_out_N"][at]):
            raise ValidityError(
                f"no rule covers a boss of {controls.boss:g} D around the {state} hole"
            )
        found[state] = State(
            nominal=float(nominal[at]),
            engaged=float(rows["engaged_mm"][at]),
            pull_out=float(rows["pull_out_N"][at]),
            parent_strip=float(rows["parent_thread_strip_N"][at]),
            pull_out_mode=min(PULL_OUT_MODES, key=lambda mode: rows[f"{mode}_N"][at]),
            curve=rows["pull_out_N"][:-2],
            crossing=_crossing(
                lengths, rows["pull_out_N"][:-2], float(rows["screw_tension_max_N"][at])
            ),
        )
    return Strip(
        diameter=diameter,
        pitch=here.thread.pitch,
        lengths=lengths,
        original=found["original"],
        repaired=found["repaired"],
        screw_min=float(table["screw_tension_N"][0]),
        screw_max=float(table["screw_tension_max_N"][0]),
    )


def _crossing(lengths: FloatArray, loads: FloatArray, level: float) -> float:
    """Length at which a rising curve passes a level, NaN if it does not within the lengths."""
    above = np.flatnonzero(loads >= level)
    if not len(above) or above[0] == 0:
        return math.nan
    at = above[0]
    return float(np.interp(level, loads[at - 1 : at + 1], lengths[at - 1 : at + 1]))


@lru_cache(maxsize=64)
def sharing(controls: Controls, state: str) -> StateSharing:
    """Return the load sharing of one state, the parent pressed on its bearing face.

    What needs the yield strength or the elongation of a parent that has none is NaN.
    """
    from ..strength.sharing.states import share

    here, found = joint(controls), strip(controls).state(state)
    parent = here.parent
    screw, wire = elastic_constants(here.screw.family), elastic_constants(here.wire.id)
    return share(
        major=here.thread.major,
        pitch=here.thread.pitch,
        length=found.engaged,
        screw_modulus=screw.modulus,
        screw_poisson=screw.poisson,
        parent_modulus=parent.elastic_modulus,
        parent_poisson=parent.poisson,
        parent_shear_strength=here.parent_shear.value,
        parent_yield=math.nan if here.parent_yield is None else here.parent_yield.value,
        parent_elongation=parent.elongation / 100,
        shear_area=found.parent_strip / here.parent_shear.value,
        boss_diameter=here.boss_diameter,
        state=state,
        sliding_coil=controls.sliding_coil,
        wire_modulus=wire.modulus,
        wire_poisson=wire.poisson,
    )


@lru_cache(maxsize=64)
def strip_torques(controls: Controls) -> tuple[StripTorque, ...]:
    """Return the torque that strips each state, by class of friction.

    Thread and head have the same friction, and no prevailing torque is added.
    """
    here, found = joint(controls), strip(controls)
    limits = threads.external_limits(here.thread, here.screw_class)
    basic = threads.basic_diameters(here.thread)
    bearing = tables.constant("bearing_diameter_over_major").value * here.thread.major
    torques = []
    for row in tables.rows("friction.csv"):
        if row["quantity"] != "friction":
            continue
        ends = (float(row["low"]), float(row["high"]))
        levers = [
            tightening.torque_coefficient(
                pitch=here.thread.pitch,
                pitch_diameter=basic.pitch,
                bearing_diameter=bearing,
                thread_friction=friction,
                head_friction=friction,
                flank_angle=here.thread.flank_angle,
            )
            for friction in ends
        ]
        yields = [
            tightening.torque(
                tightening.yield_preload(
                    yield_strength=here.screw.yield_,
                    pitch=here.thread.pitch,
                    pitch_diameter=basic.pitch,
                    minor_diameter=limits.minor_max,
                    thread_friction=friction,
                    flank_angle=here.thread.flank_angle,
                ),
                coefficient=lever,
            )
            for friction, lever in zip(ends, levers, strict=True)
        ]
        for state in STATES:
            low, high = (
                float(tightening.torque(found.state(state).pull_out, coefficient=lever))
                for lever in levers
            )
            torques.append(
                StripTorque(
                    state=state,
                    friction=row["id"],
                    words=row["title"],
                    least=low,
                    highest=high,
                    screw_least=float(yields[0]),
                    screw_highest=float(yields[1]),
                )
            )
    return tuple(torques)


@lru_cache(maxsize=64)
def section(controls: Controls, state: str) -> Section:
    """Return the sizes and the thread loads of one state."""
    here, found = joint(controls), strip(controls).state(state)
    return Section(
        state=state,
        sizes=sizes(here, state),
        pitch=here.thread.pitch,
        nominal=found.nominal,
        engaged=found.engaged,
        boss=math.inf if here.boss_diameter is None else here.boss_diameter,
        loads=sharing(controls, state).elastic.loads,
    )
