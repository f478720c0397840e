"""What the strength of the repaired hole assumes of the part, as limits to accept it by.

This is the only place where an assumption of the calculation becomes an acceptance limit: steps,
record, results file and the conditions of a report all read it. A part at the worst end of any
limit strips at no lower load than the calculation states.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from .. import inserts, tables, threads
from ..joint.budget import budget, engaged, thread_begin
from ..joint.records import Joint
from ..joint.sizes import sizes
from ..threads.profile import InternalLimits
from .records import Limit, limit_system

#: Numbers of the results file that the limits bear on.
_LENGTH, _AREA, _WALL = (
    f"states.repaired.{number}" for number in ("engagement_mm", "modes.area_mm2", "modes.factor")
)
_TORQUE = "tightening.states.repaired.torque_Nm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """One limit, the id of its quantity, and the number of the results file that rests on it.

    The limit's ends are NaN where this joint has none: no boss, a hole of the other kind.
    `by_class` says that the thread's class and its gauges see to it.
    """

    id: str
    limit: Limit
    bears_on: str
    by_class: bool

    @property
    def holds(self) -> bool:
        """Whether this joint has the limit."""
        return not any(math.isnan(end or 0.0) for end in (self.limit.least, self.limit.most))


def accepted_hole(joint: Joint) -> InternalLimits:
    """Return the limits of size of the insert hole that the strength allows.

    Those of its class where the strength is taken at minimum material; else no larger hole than
    the one calculated with.
    """
    limits = inserts.insert_hole(joint.thread, joint.insert_hole_class)
    at = sizes(joint, "repaired")
    return replace(
        limits,
        minor_min=min(limits.minor_min, at.hole_minor),
        minor_max=at.hole_minor,
        pitch_min=min(limits.pitch_min, at.hole_pitch),
        pitch_max=at.hole_pitch,
    )


def edge_distance_min(joint: Joint) -> float:
    """Least distance from the hole's centre to the edge, mm: designers' rule, or the boss's wall.

    At 1.5 diameters the wall is as thick as the thickest that the wall factor is worked out for.
    """
    rule = tables.constant("edge_distance_least").value
    outside = inserts.enlarged_diameters(joint.thread).major
    return min(rule * outside, math.inf if joint.boss_diameter is None else joint.boss_diameter / 2)


def assumptions(
    joint: Joint,
    *,
    drilled: float,
    reach_least: float,
    reach_most: float | None,
    torque_nm: float | None = None,
    torque_name: str = "tightening torque",
    system: str = "SI",
) -> tuple[Assumption, ...]:
    """Return every assumption of the repaired hole's strength, in the order of work.

    Parameters
    ----------
    joint : Joint
    drilled : depth of a blind hole that its tap needs, mm
    reach_least : reach at which the screw meets the coil or passes its lock, mm
    reach_most : reach at which it meets the tang or the bottom, mm; None: it meets nothing
    torque_nm, torque_name : set torque that the margins are worked out for, N·m, and its name
    system : of the limits, "SI", "inch" or "both"
    """
    units = limit_system(joint.thread, system)
    blind = joint.hole_kind == "blind"
    sink = joint.countersink_depth
    end = thread_begin(joint) + float(engaged(budget(joint, "repaired")))
    full = float(inserts.full_thread_min(joint.thread, joint.insert_length))
    if joint.part_thickness is not None:
        full = min(full, joint.part_thickness - sink)
    hole, at = accepted_hole(joint), sizes(joint, "repaired")
    screw = threads.external_limits(joint.thread, joint.screw_class)
    by_class = {
        "pitch_diameter": hole.pitch_max
        == inserts.insert_hole(joint.thread, joint.insert_hole_class).pitch_max,
        "screw_major_diameter": at.screw_major == screw.major_min,
        "screw_pitch_diameter": at.screw_pitch == screw.pitch_min,
    }
    boss = math.nan if joint.boss_diameter is None else joint.boss_diameter
    torque = math.nan if torque_nm is None else torque_nm
    thickness = math.nan if blind else max(joint.insert_length, end + sink)
    depths = (drilled, joint.hole_depth) if blind else (math.nan, None)
    found: tuple[tuple[str, str, float | None, float | None, str, int], ...] = (
        ("edge_distance", "edge distance", edge_distance_min(joint), None, _WALL, 1),
        ("boss_diameter", "boss diameter", boss, None, _WALL, 1),
        ("part_thickness", "thickness", thickness, None, _LENGTH, 2),
        ("minor_diameter", "minor diameter", hole.minor_min, hole.minor_max, _AREA, 3),
        ("pitch_diameter", "pitch diameter", hole.pitch_min, hole.pitch_max, _AREA, 3),
        ("drilled_depth", "drilled depth", *depths, _LENGTH, 2),
        ("full_thread", "full thread", max(full, end), None, _LENGTH, 2),
        ("set_down", "set-down", joint.set_down_min, joint.set_down_max, _LENGTH, 2),
        ("screw_reach", "screw reach", max(end, reach_least), reach_most, _LENGTH, 2),
        ("screw_major_diameter", "major diameter of the screw", at.screw_major, None, _AREA, 3),
        ("screw_pitch_diameter", "pitch diameter of the screw", at.screw_pitch, None, _AREA, 3),
        ("tightening_torque", torque_name, torque, torque, _TORQUE, 1),
    )
    return tuple(
        Assumption(
            id=id_,
            limit=Limit(
                name=name,
                least=least,
                most=most,
                unit="N·m" if bears_on == _TORQUE else "mm",
                system=system if bears_on == _TORQUE else units,
                decimals=decimals,
            ),
            bears_on=bears_on,
            by_class=by_class.get(id_, False),
        )
        for id_, name, least, most, bears_on, decimals in found
    )
