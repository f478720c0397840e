"""The whole sheet: from plain values to steps, limits, cautions and the record."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from .. import inserts, tables
from ..errors import unknown
from ..facts import Fact, fact, length
from ..joint.records import Joint
from ..sources import Reference
from ..threads.profile import InternalLimits, Thread
from ..tightening.published import PrevailingTorque
from . import choice, fitting, hole, inspection
from .assumptions import accepted_hole, assumptions, edge_distance_min
from .cautions import HAZARDS, REGIMES, cautions
from .records import Choice, Limit, RecordLine, Rule, Step, step
from .spoiled import INSERT_HOLE_FINDINGS, spoiled

#: Numbers of the results file that only some holes have.
_NOT_ALWAYS = (
    "boss_diameter_min_mm", "part_thickness_min_mm", "drilled_depth_min_mm",
    "tightening_torque_min_Nm", "tightening_torque_max_Nm",
)  # fmt: skip
_OLD_INSERT = ("old-dirt", "old-blade", "old-turn", "old-pliers", "old-discard", "old-retap")


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkshopSheet:
    """What a technician takes to the machine; nothing in it needs further arithmetic.

    Attributes
    ----------
    thread, hole : the screw's thread and the limits of its insert hole
    hole_kind, insert_kind, length : as asked for; length nominal, mm
    drilled : depth for the chosen tap, mm; of a through hole without meaning
    set_down : by the governing rule
    title : the hole and its insert in one line
    choices : what was chosen, by topic: length, kind, wire, finish, protection, tap, tool
    steps : in the order of work
    cautions : those whose condition holds, rows of their table
    rules : set-down and NO-GO gauge by every rule, the governing one first, and the pitch
        tolerance at the other diameter
    if_spoiled : what to do when the insert, its hole or the part does not pass
    assumed : limits that the strength of the repaired hole counts on
    record : lines of the inspection record
    numbers : the same limits by the keys of the results file, mm
    references : everything the sheet rests on
    """

    thread: Thread
    hole: InternalLimits
    hole_kind: str
    insert_kind: str
    length: float
    drilled: float
    set_down: inserts.SetDown
    title: Fact
    choices: Mapping[str, Choice]
    steps: tuple[Step, ...]
    cautions: tuple[tables.Row, ...]
    rules: tuple[Rule, ...]
    if_spoiled: tuple[Choice, ...]
    assumed: tuple[Limit, ...]
    record: tuple[RecordLine, ...]
    numbers: Mapping[str, float]
    references: tuple[Reference, ...]


def sheet(
    joint: Joint,
    *,
    insert_kind: str = "free-running",
    environment: str = "dry",
    magnetic: str = "any",
    finish: str | None = None,
    finish_need: str = "none",
    critical: bool = False,
    tap: str | None = None,
    tool: str = fitting.USUAL_TOOL,
    tool_set_down: float | None = None,
    shim_sizes: Sequence[float] = (),
    set_down_rule: str = "standard",
    no_go_rule: str = hole.USUAL_RULE,
    prevailing_torque: PrevailingTorque | None = None,
    torque_nm: float | None = None,
    old_insert: bool = False,
    regime: str = "general",
    hazards: Iterable[str] = (),
    wire: str | None = None,
) -> WorkshopSheet:
    """Return the workshop sheet of the insert hole of a joint.

    Parameters
    ----------
    joint : Joint
        As its strength is calculated; its set-down is that of `set_down_rule`.
    insert_kind : "free-running" or "locking"
    environment : names "dry", "damp", "salt water" or "vacuum", see `choice.environment_class`
    magnetic : "any" or "non-magnetic"
    wire, finish : as asked for, checked; None: chosen
    finish_need : see `choice.FINISH_NEEDS`
    critical : single load path or control
    tap : as asked for, checked; None: chosen
    tool : kind of fitting tool
    tool_set_down : set-down of the tool without shims, measured on a trial hole, mm
    shim_sizes : thicknesses of the shims at hand, mm
    set_down_rule : "standard", "quarter-to-half-turn" or "flush"
    no_go_rule : "three-turns" (also taken for "") or "two-turns"
    prevailing_torque : limits for a locking insert of this size
    torque_nm : set torque that the margins are worked out for, N·m
    old_insert : an insert has to come out first
    regime : field with its own approval, see `cautions.REGIMES`
    hazards : of `cautions.HAZARDS`

    Returns
    -------
    WorkshopSheet

    Raises
    ------
    InputError, GeometryError, ValidityError
        If the case cannot be made; the sentence says what to change.
    """
    thread, blind = joint.thread, joint.hole_kind == "blind"
    hazards = tuple(hazards)
    for what, given, known in (
        ("insert_kind", insert_kind, fitting.INSERT_KINDS),
        *(("hazard", hazard, HAZARDS) for hazard in hazards),
        ("regime", regime, REGIMES),
    ):
        if given not in known:
            raise unknown(what, given, known)
    group = hole.parent_group(joint.parent.group)
    limits = accepted_hole(joint)
    set_down = inserts.set_down(set_down_rule, thread)
    rule = hole.no_go_rule(no_go_rule or hole.USUAL_RULE)
    chosen = _choices(
        joint, insert_kind=insert_kind, environment=environment, magnetic=magnetic, wire=wire,
        finish=finish, finish_need=finish_need, tap=tap, tool=tool,
    )  # fmt: skip
    drilled = float(
        inserts.drill_depth(thread, joint.insert_length, hole.depth_rule(chosen["tap"].option))
    )
    reach = fitting.screw_reach_limits(
        thread, length=joint.insert_length, insert_kind=insert_kind, set_down=set_down
    )
    fitting.check_screw_reach(
        reach,
        screw_reach=joint.screw_reach,
        insert_kind=insert_kind,
        bottom=joint.hole_depth if blind else None,
    )
    tang_to = fitting.tang_stays_to(joint, set_down)
    # A screw within a pitch of the bottom may meet it.
    free = drilled - thread.pitch if blind else None
    assumed = assumptions(
        joint,
        drilled=drilled,
        reach_least=reach.least,
        reach_most=free if tang_to is None else tang_to,
        torque_nm=torque_nm,
    )
    limit = {each.id: each for each in assumed}

    def steps() -> Iterator[Step]:
        yield step("drawing")
        yield step("crack")
        yield step("edge", *(limit[id_] for id_ in ("edge_distance", "boss_diameter")
                             if id_ in limit))  # fmt: skip
        if joint.edge_distance is not None and joint.edge_distance < edge_distance_min(joint):
            yield step("edge-short", distance=length(joint.edge_distance))
        full = limit["full_thread"]
        if old_insert:
            yield from map(step, _OLD_INSERT)
        else:
            depth = limit["drilled_depth" if blind else "part_thickness"]
            yield from hole.drilling(thread, limits, group, depth=depth)
            yield from hole.tapping(
                group, hole_kind=joint.hole_kind, route=chosen["tap"], full_thread=full
            )
        yield from hole.gauging(
            thread,
            limits,
            hole_kind=joint.hole_kind,
            minor=limit["minor_diameter"],
            full_thread=full,
            insert_kind=insert_kind,
            rule=rule,
        )
        protection = chosen["galvanic_protection"]
        if protection.option != "none":
            yield step("protect", references=protection.references, measure=protection.name)
        yield from fitting.fitting(
            insert_kind=insert_kind,
            tool=chosen["fitting_tool"],
            set_down=set_down,
            limit=limit["set_down"],
            tool_set_down=tool_set_down,
            shim_sizes=tuple(shim_sizes),
        )
        yield from fitting.tang(
            joint,
            # An old hole has the depth it has.
            drilled=(joint.hole_depth or drilled) if old_insert else drilled,
            set_down=set_down,
            removed=tang_to is None,
            screw_reach=limit["screw_reach"],
        )
        yield from inspection.inspecting(
            joint,
            insert_kind=insert_kind,
            torque=prevailing_torque,
            diameters=(limit["screw_major_diameter"], limit["screw_pitch_diameter"]),
            reach=limit["screw_reach"],
            better=reach.better,
            near_bottom=(
                free is not None and joint.screw_reach is not None and joint.screw_reach > free
            ),
        )

    done = tuple(steps())
    holds = {
        "blind": blind,
        "magnesium": joint.parent.group == "magnesium",
        "removal": old_insert,
        "cutting-fluid": not group["lubricant"].startswith("none"),
        "cadmium": chosen["finish"].option == "cadmium",
        "locking": insert_kind == "locking",
        "critical": critical,
        "tang-out": tang_to is None,
        "chromate": chosen["galvanic_protection"].option == "primer",
    }
    warned = cautions({name for name, true in holds.items() if true} | {*hazards, regime})
    rules = (
        *fitting.set_down_rules(thread, set_down.rule),
        *hole.no_go_rules(rule["rule"]),
        *_tolerance_rules(thread, limits.hole_class),
    )
    spoilt = tuple(
        spoiled(thread, finding, edge_distance=joint.edge_distance)
        for finding in dict.fromkeys((*_found(joint), *INSERT_HOLE_FINDINGS))
    )
    sources = [each.references for each in done]
    sources += [each.references for each in (*chosen.values(), *spoilt)]
    sources += [tuple(each.reference for each in rules)]
    sources += [tuple(tables.reference(row, f"caution {row['id']}") for row in warned)]
    return WorkshopSheet(
        thread=thread,
        hole=limits,
        hole_kind=joint.hole_kind,
        insert_kind=insert_kind,
        length=joint.insert_length,
        drilled=drilled,
        set_down=set_down,
        title=fact(
            f"sheet_title_{joint.hole_kind}",
            "info",
            thread=thread.designation,
            hole_class=limits.hole_class,
            parent=group["words"],
            kind=insert_kind,
            length=length(joint.insert_length),
        ),
        choices=chosen,
        steps=done,
        cautions=warned,
        rules=rules,
        if_spoiled=spoilt,
        assumed=assumed,
        record=tuple(
            inspection.record(
                joint,
                insert_kind=insert_kind,
                assumed=assumed,
                no_go=hole.no_go_turns(rule),
                torque=prevailing_torque,
                tang_removed=tang_to is None,
            )
        ),
        numbers=_numbers(joint, limits, assumed, drilled, reach.better, float(rule["turns"])),
        references=tuple(dict.fromkeys(each for found in sources for each in found)),
    )


def _found(joint: Joint) -> tuple[str, ...]:
    """The condition of the hole as found, where it is another than the usual one."""
    return (joint.hole_condition,) if joint.hole_condition != "stripped" else ()


def _choices(
    joint: Joint, *, insert_kind: str, environment: str, magnetic: str, wire: str | None,
    finish: str | None, finish_need: str, tap: str | None, tool: str,
) -> Mapping[str, Choice]:  # fmt: skip
    """Return every choice by topic, in the order of the job."""
    diameters = joint.insert_length / joint.thread.major
    standard = any(abs(diameters - n) * joint.thread.major < 1e-3 for n in inserts.LENGTHS)
    chosen_wire = choice.wire_choice(
        temperature=joint.temperature, magnetic=magnetic, environment=environment, wire=wire
    )
    chosen_finish = choice.finish_choice(
        temperature=joint.temperature, environment=environment, need=finish_need, finish=finish
    )
    found = (
        Choice(
            topic="length",
            option=f"{diameters:.3g} D",
            notes=() if standard else (fact("length_not_standard", "info"),),
            references=tables.cited("insert-lengths"),
        ),
        Choice(topic="kind", option=insert_kind, references=(choice.KINDS,)),
        chosen_wire,
        chosen_finish,
        choice.galvanic(
            joint.parent.group,
            joint.parent.galvanic_group,
            wire=chosen_wire.option,
            finish=chosen_finish.option,
            environment=environment,
        ),
        hole.tap_route(joint.hole_kind, joint.parent.group, room=hole.room(joint), tap=tap),
        fitting.fitting_tool(tool),
    )
    return MappingProxyType({each.topic: each for each in found})


def _tolerance_rules(thread: Thread, hole_class: str) -> tuple[Rule, ...]:
    """Show the pitch diameter with the tolerance at each diameter, if that changes it."""
    found = {}
    for place in inserts.TOLERANCE_AT:
        try:
            found[place] = inserts.insert_hole(thread, hole_class, tolerance_at=place)
        except ValueError:
            # The enlarged diameter may fall where the standard has no tolerance for the pitch:
            # then there is nothing to show beside the governing one.
            return ()
    if len({round(each.pitch_max, 6) for each in found.values()}) == 1:
        return ()
    return tuple(
        Rule(
            topic="hole_tolerance",
            rule=place,
            governs=place == "nominal",
            limit=Limit(id="pitch_diameter", least=each.pitch_min, most=each.pitch_max),
            reference=each.references[1],
        )
        for place, each in found.items()
    )


def _numbers(
    joint: Joint,
    limits: InternalLimits,
    assumed: tuple[Limit, ...],
    drilled: float,
    better_reach: float,
    turns: float,
) -> Mapping[str, float]:
    """Return the limits by the keys of the results file, mm or N·m; NaN where there is none."""
    thread, nominal = joint.thread, joint.insert_length
    drill_min, drill_max = inserts.drill_range(limits)
    fitted_min, fitted_max = inserts.fitted_length(thread, nominal)
    sink = inserts.countersink(thread)
    values = {
        "drill_min_mm": drill_min,
        "drill_max_mm": drill_max,
        "drill_depth_mm": drilled,
        "drill_depth_plug_mm": inserts.drill_depth(thread, nominal, "plug"),
        "drill_depth_bottoming_mm": inserts.drill_depth(thread, nominal, "bottoming"),
        "fitted_length_min_mm": fitted_min,
        "fitted_length_max_mm": fitted_max,
        "minor_go_mm": limits.minor_min,
        "minor_no_go_mm": limits.minor_max,
        "pitch_go_mm": limits.pitch_min,
        "pitch_no_go_mm": limits.pitch_max,
        "no_go_turns_max": turns,
        "countersink_diameter_min_mm": sink.diameter_min,
        "countersink_diameter_max_mm": sink.diameter_max,
        "countersink_depth_max_mm": joint.countersink_depth,
        "screw_reach_better_mm": better_reach,
        **dict.fromkeys(_NOT_ALWAYS, math.nan),
    }
    for each in assumed:
        unit = "mm" if each.dimension == "length" else "Nm"
        for end, value in (("min", each.least), ("max", each.most)):
            if value is not None:
                values[f"{each.id}_{end}_{unit}"] = value
    return MappingProxyType({name: float(value) for name, value in values.items()})
