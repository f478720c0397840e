"""The whole sheet: from plain values to numbered steps, limits, cautions and the record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from .. import inserts
from ..errors import unknown
from ..joint.records import Joint
from ..sources import Reference
from ..threads.profile import InternalLimits, Thread
from ..units import plain
from . import choice, fitting, gauging, hole, inspection, reach, tang
from .assumptions import Assumption, accepted_hole, assumptions
from .cautions import HAZARDS, REGIMES, cautions
from .job import Job, choices, drafts, facts, hole_limits, numbers, tolerance_disagreement
from .records import Caution, Choice, Disagreement, Limit, Step, numbered
from .spoiled import INSERT_HOLE_FINDINGS, spoiled


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkshopSheet:
    """What a technician takes to the machine; nothing in it needs further arithmetic.

    Attributes
    ----------
    thread, hole : the screw's thread and the limits of its insert hole
    hole_kind, insert_kind, length : as asked for; length nominal, mm
    drilled : depth for the chosen tap, mm; of a through hole without meaning
    set_down : by the governing rule
    title : one line
    choices : what was chosen and rejected: length, kind, wire, finish, protection, tap,
        tool
    steps : numbered, in the order of work
    limits : the limits of the hole in one list
    cautions : those whose condition holds
    disagreements : set-down and NO-GO gauge by every rule, the governing one first, and the
        pitch tolerance at the other diameter
    if_spoiled : what to do when the insert, its hole or the part does not pass
    assumed : limits that the strength of the repaired hole counts on
    record, record_blanks : lines of the inspection record, and its columns to fill in by hand
    numbers : the same limits by the keys of the results file, mm
    system : units of its words and limits, "SI", "inch" or "both"
    references : everything the sheet rests on
    """

    thread: Thread
    hole: InternalLimits
    hole_kind: str
    insert_kind: str
    length: float
    drilled: float
    set_down: inserts.SetDown
    title: str
    choices: tuple[Choice, ...]
    steps: tuple[Step, ...]
    limits: tuple[Limit, ...]
    cautions: tuple[Caution, ...]
    disagreements: tuple[Disagreement, ...]
    if_spoiled: tuple[Choice, ...]
    assumed: tuple[Assumption, ...]
    record: tuple[inspection.RecordRow, ...]
    record_blanks: tuple[str, ...]
    numbers: Mapping[str, float]
    system: str
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
    no_go_rule: str = gauging.USUAL_RULE,
    prevailing_torque: inspection.TorqueLimits | None = None,
    torque_nm: float | None = None,
    old_insert: bool = False,
    regime: str = "general",
    hazards: Iterable[str] = (),
    wire: str | None = None,
    system: str = "SI",
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
    system : of words and limits, "SI", "inch" or "both"

    Raises
    ------
    InputError, GeometryError, ValidityError
        If the case cannot be made; the sentence says what to change.
    """
    thread, length, hole_kind = joint.thread, joint.insert_length, joint.hole_kind
    if insert_kind not in fitting.INSERT_KINDS:
        raise unknown("insert_kind", insert_kind, fitting.INSERT_KINDS)
    hazards = tuple(hazards)
    for hazard in hazards:
        if hazard not in HAZARDS:
            raise unknown("hazard", hazard, HAZARDS)
    if regime not in REGIMES:
        raise unknown("regime", regime, REGIMES)
    group = hole.parent_group(joint.parent.group)
    set_down = inserts.set_down(set_down_rule, thread)
    chosen_wire = choice.wire_choice(
        temperature=joint.temperature, magnetic=magnetic, environment=environment, wire=wire
    )
    chosen_finish = choice.finish_choice(
        temperature=joint.temperature, environment=environment, need=finish_need, finish=finish
    )
    room = "plug"
    if hole_kind == "blind":
        room = hole.blind_room(thread, length, joint.hole_depth)
    else:
        hole.through_thickness(thread, length, joint.part_thickness)
    route = hole.tap_route(hole_kind, group.name, room=room, tap=tap)
    drilled = float(inserts.drill_depth(thread, length, route.depth_rule))
    limits = reach.screw_reach_limits(
        thread, length=length, insert_kind=insert_kind, set_down=set_down
    )
    reach.check_screw_reach(
        limits,
        screw_reach=joint.screw_reach,
        insert_kind=insert_kind,
        bottom=joint.hole_depth if hole_kind == "blind" else None,
    )
    removal = tang.tang_removal(
        thread,
        hole_kind=hole_kind,
        length=length,
        set_down=set_down,
        screw_reach=joint.screw_reach,
    )
    # A screw within a pitch of the bottom may meet it.
    free = drilled - thread.pitch if hole_kind == "blind" else None
    job = Job(
        joint=joint,
        limits=accepted_hole(joint),
        group=group,
        insert_kind=insert_kind,
        tool_set_down=tool_set_down,
        shim_sizes=tuple(shim_sizes),
        torque=prevailing_torque,
        old_insert=old_insert,
        critical=critical,
        regime=regime,
        hazards=hazards,
        set_down=set_down,
        no_go=gauging.no_go_rule(no_go_rule or gauging.USUAL_RULE),
        wire=chosen_wire,
        finish=chosen_finish,
        protection=choice.galvanic(
            group.name,
            joint.parent.galvanic_group,
            wire=chosen_wire.option,
            finish=chosen_finish.option,
            environment=environment,
        ),
        tool=fitting.fitting_tool(tool),
        route=route,
        drilled=drilled,
        better_reach=limits.better,
        removal=removal,
        assumed=assumptions(
            joint,
            drilled=drilled,
            reach_least=limits.least,
            reach_most=free if removal.screw_reach_most is None else removal.screw_reach_most,
            torque_nm=torque_nm,
            torque_name="tightening torque"
            + (", net of prevailing" if insert_kind == "locking" else ""),
            system=system,
        ),
        system=system,
    )
    return _sheet(job)


def _sheet(job: Job) -> WorkshopSheet:
    steps = numbered(drafts(job))
    found = cautions(facts(job))
    disagreements = (
        *fitting.set_down_disagreements(job.thread, job.set_down.rule, system=job.system),
        *gauging.no_go_disagreements(job.no_go.rule),
        *tolerance_disagreement(job),
    )
    chosen = choices(job)
    spoilt = tuple(
        spoiled(job.thread, finding, edge_distance=job.joint.edge_distance, system=job.system)
        for finding in INSERT_HOLE_FINDINGS
    )
    references = [reference for step in steps for reference in step.references]
    references += [each.reference for each in found]
    references += [each.reference for each in disagreements]
    references += [reference for each in (*chosen, *spoilt) for reference in each.references]
    return WorkshopSheet(
        thread=job.thread,
        hole=job.limits,
        hole_kind=job.joint.hole_kind,
        insert_kind=job.insert_kind,
        length=job.length,
        drilled=job.drilled,
        set_down=job.set_down,
        title=(
            f"{job.thread.designation} insert hole, class {job.limits.hole_class}, "
            f"{job.joint.hole_kind}, in {job.group.words}; {job.insert_kind} insert of "
            f"{plain(job.length, dimension='length', system=job.system)}"
        ),
        choices=chosen,
        steps=steps,
        limits=hole_limits(job),
        cautions=found,
        disagreements=disagreements,
        if_spoiled=spoilt,
        assumed=tuple(each for each in job.assumed if each.holds),
        record=inspection.record_table(
            job.thread,
            job.limits,
            length=job.length,
            insert_kind=job.insert_kind,
            screw=f"{job.joint.screw.id}, {job.joint.screw_class}",
            assumed=tuple(each.limit for each in job.assumed if each.holds and not each.by_class),
            no_go=job.no_go,
            torque=job.torque,
            tang_removed=job.removal.remove,
            system=job.system,
        ),
        record_blanks=inspection.BLANKS,
        numbers=numbers(job),
        system=job.system,
        references=tuple(dict.fromkeys(references)),
    )
