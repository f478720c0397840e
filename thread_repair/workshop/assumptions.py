"""What the strength of the repaired hole assumes of the part, as limits to accept it by.

This is the only place where an assumption of the calculation becomes an acceptance limit: steps,
record, results file and the conditions of a report all read it. A part at the worst end of any
limit strips at no lower load than the calculation states, except where that takes basic sizes:
nothing made to a tolerance has them, so that the limits are those of the classes.
"""

from .. import inserts, tables, threads
from ..facts import three_digits
from ..joint.criterion import edge_is_boss
from ..joint.lengths import engaged_length, thread_begin
from ..joint.records import Joint
from ..joint.sizes import accepted_hole, counted_on
from .records import Limit

#: Numbers of the results file that the limits bear on.
_LENGTH, _AREA, _WALL = (
    f"states.repaired.{number}" for number in ("engagement_mm", "modes.area_mm2", "modes.factor")
)
_TORQUE = "tightening.states.repaired.torque_Nm"


def edge_distance_min(joint: Joint) -> float:
    """Least distance from the hole's centre to the edge, mm: designers' rule, or the boss's wall.

    At 1.5 diameters the wall is as thick as the thickest that the wall factor is worked out for.
    The boss's wall counts where no nearer edge is stated: one that is has to meet the rule.

    Parameters
    ----------
    joint : Joint

    Returns
    -------
    float, mm
    """
    rule = tables.constant("edge_distance_least").value
    outside = inserts.enlarged_diameters(joint.thread).major
    boss = joint.boss_diameter
    if boss is None or not edge_is_boss(joint):
        return rule * outside
    return min(rule * outside, boss / 2)


def assumptions(
    joint: Joint,
    *,
    drilled: float,
    reach_least: float,
    reach_most: float | None,
    torque_nm: float | None = None,
) -> tuple[Limit, ...]:
    """Return every assumption of the repaired hole's strength that it has, in the order of work.

    Parameters
    ----------
    joint : Joint
    drilled : depth of a blind hole that its tap needs, mm
    reach_least : reach at which the screw meets the coil or passes its lock, mm
    reach_most : reach at which it meets the tang or the bottom, mm; None: it meets nothing
    torque_nm : set torque that the margins are worked out for, N·m

    Returns
    -------
    tuple of Limit
    """
    sink = joint.countersink_depth
    end = thread_begin(joint) + engaged_length(joint, "repaired")
    full = float(inserts.full_thread_min(joint.thread, joint.insert_length))
    thickness = max(joint.insert_length, end + sink)
    if joint.hole_kind == "through":
        full = min(full, thickness - sink)  # the thinnest part accepted has no more
    hole, at = accepted_hole(joint), counted_on(joint)
    screw = threads.external_limits(joint.thread, joint.screw_class)
    of_class = inserts.insert_hole(joint.thread, joint.insert_hole_class)

    by_class = {
        "pitch_diameter": hole.pitch_max == of_class.pitch_max,
        "screw_major_diameter": at.screw_major == screw.major_min,
        "screw_pitch_diameter": at.screw_pitch == screw.pitch_min,
    }
    found = (
        ("edge_distance", edge_distance_min(joint), None, _WALL, 1),
        ("boss_diameter", joint.boss_diameter, None, _WALL, 1),
        ("minor_diameter", hole.minor_min, hole.minor_max, _AREA, 3),
        ("pitch_diameter", hole.pitch_min, hole.pitch_max, _AREA, 3),
        ("drilled_depth", drilled, joint.hole_depth, _LENGTH, 2)
        if joint.hole_kind == "blind"
        else ("part_thickness", thickness, None, _LENGTH, 2),
        ("full_thread", max(full, end), None, _LENGTH, 2),
        ("countersink_depth", None, sink, _LENGTH, 2),
        ("set_down", joint.set_down_min, joint.set_down_max, _LENGTH, 2),
        ("screw_reach", max(end, reach_least), reach_most, _LENGTH, 2),
        ("screw_major_diameter", at.screw_major, None, _AREA, 3),
        ("screw_pitch_diameter", at.screw_pitch, None, _AREA, 3),
        ("tightening_torque", torque_nm, torque_nm, _TORQUE, three_digits(torque_nm or 0)),
    )
    return tuple(
        Limit(
            id=id_,
            least=least,
            most=most,
            dimension="torque" if bears_on == _TORQUE else "length",
            decimals=decimals,
            bears_on=bears_on,
            by_class=by_class.get(id_, False),
        )
        for id_, least, most, bears_on, decimals in found
        if least is not None or most is not None
    )
