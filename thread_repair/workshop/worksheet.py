"""The whole sheet: from plain values to numbered steps, limits, cautions and the record."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from .. import inserts
from ..errors import unknown
from ..sources import Reference
from ..threads import thread as named_thread
from ..threads.profile import InternalLimits, Thread
from . import choice, fitting, gauging, hole, inspection, reach, tang
from .cautions import HAZARDS, REGIMES, cautions
from .records import Caution, Choice, Disagreement, Draft, Limit, Step, draft, numbered


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkshopSheet:
    """What a technician takes to the machine; nothing in it needs further arithmetic.

    Attributes
    ----------
    thread, hole : the screw's thread and the limits of its insert hole
    title : one line
    choices : what was chosen and rejected: kind, wire, finish, galvanic protection, tap, tool
    steps : numbered, in the order of work
    limits : the limits of the hole in one list
    cautions : those whose condition holds
    disagreements : set-down and NO-GO gauge by every rule, the governing one first, and the
        pitch tolerance at the other diameter
    record, record_blanks : lines of the inspection record, and its columns to fill in by hand
    numbers : the same limits by the keys of the results file, mm
    references : everything the sheet rests on
    """

    thread: Thread
    hole: InternalLimits
    title: str
    choices: tuple[Choice, ...]
    steps: tuple[Step, ...]
    limits: tuple[Limit, ...]
    cautions: tuple[Caution, ...]
    disagreements: tuple[Disagreement, ...]
    record: tuple[inspection.RecordRow, ...]
    record_blanks: tuple[str, ...]
    numbers: Mapping[str, float]
    references: tuple[Reference, ...]


def sheet(
    thread: Thread | str,
    *,
    insert_length: float,
    hole_kind: str,
    parent_group: str,
    insert_kind: str = "free-running",
    insert_hole_class: str | None = None,
    hole_depth: float | None = None,
    screw_reach: float | None = None,
    edge_distance: float | None = None,
    quantity: int | str = "occasional",
    temperature: float = 20.0,
    environment: str = "dry",
    magnetic: str = "any",
    wire: str | None = None,
    finish: str | None = None,
    finish_need: str = "none",
    cadmium_allowed: bool = False,
    critical: bool = False,
    tap: str | None = None,
    tool: str | None = None,
    tool_set_down: float | None = None,
    set_down_rule: str = "standard",
    no_go_rule: str = "three-turns",
    tolerance_at: str = "nominal",
    prevailing_torque: inspection.PrevailingTorque | None = None,
    old_insert: bool = False,
    regime: str = "general",
    hazards: Iterable[str] = (),
) -> WorkshopSheet:
    """Return the workshop sheet of one insert hole.

    Parameters
    ----------
    thread : Thread, or a designation such as "M8x1.25"
    insert_length : nominal length of the insert, mm
    hole_kind : "through" or "blind"
    parent_group : see `hole.parent_groups`
    insert_kind : "free-running" or "locking"
    insert_hole_class : class of the insert hole; without it the usual class of the system, and
        the closer one for a locking insert
    hole_depth : depth that a blind hole may be drilled to, or thickness of the part of a through
        hole, mm; None: no limit
    screw_reach : thread of the screw past the joint face, mm
    edge_distance : from the hole's centre to the nearest edge, mm
    quantity : holes to be made, or "occasional", "batch" or "series"
    temperature : of service, degC
    environment : names "dry", "damp", "salt water" or "vacuum", see `choice.environment_class`
    magnetic : "any" or "non-magnetic"
    wire, finish : as asked for, checked; None: chosen
    finish_need : "none", "corrosion", "lubricity", "low-friction" or "anti-seize"
    cadmium_allowed : the customer asks for cadmium in writing
    critical : single load path or control
    tap, tool : as asked for, checked; None: chosen
    tool_set_down : set-down of the tool without shims, measured on a trial hole, mm
    set_down_rule : "standard", "quarter-to-half-turn" or "flush"
    no_go_rule : "three-turns" (also taken for ""), "two-and-a-half-turns" or "two-turns"
    tolerance_at : "nominal" or "enlarged", see `inserts.insert_hole`
    prevailing_torque : limits for a locking insert of this size
    old_insert : an insert has to come out first
    regime : field with its own approval, see `cautions.REGIMES`
    hazards : of `cautions.HAZARDS`

    Raises
    ------
    InputError, GeometryError, ValidityError
        If the case cannot be made; the sentence says what to change.
    """
    if isinstance(thread, str):
        thread = named_thread(thread)
    hazards = tuple(hazards)
    for hazard in hazards:
        if hazard not in HAZARDS:
            raise unknown("hazard", hazard, HAZARDS)
    if regime not in REGIMES:
        raise unknown("regime", regime, REGIMES)
    group = hole.parent_group(parent_group)
    hole_class = insert_hole_class or _hole_class(thread, insert_kind)
    limits = inserts.insert_hole(thread, hole_class, tolerance_at=tolerance_at)
    set_down = inserts.set_down(set_down_rule, thread)
    no_go = gauging.no_go_rule(no_go_rule or "three-turns")
    work = fitting.quantity_class(quantity)

    chosen_wire = choice.wire_choice(
        temperature=temperature, magnetic=magnetic, environment=environment, wire=wire
    )
    chosen_finish = choice.finish_choice(
        temperature=temperature,
        environment=environment,
        need=finish_need,
        cadmium_allowed=cadmium_allowed,
        finish=finish,
    )
    protection = choice.galvanic(group, chosen_finish.option, environment)
    fit_with, no_tools = fitting.fitting_tool(thread, insert_kind, work, tool)

    room = "plug"
    if hole_kind == "blind":
        room = hole.blind_room(thread, insert_length, hole_depth)
    else:
        hole.through_thickness(thread, insert_length, hole_depth)
    route = hole.tap_route(hole_kind, parent_group, room=room, tap=tap)
    drilled = float(inserts.drill_depth(thread, insert_length, route.depth_rule))
    reach_limits = reach.screw_reach_limits(
        thread, length=insert_length, insert_kind=insert_kind, set_down=set_down
    )
    reach.check_screw_reach(
        reach_limits,
        screw_reach=screw_reach,
        insert_kind=insert_kind,
        bottom=hole_depth if hole_kind == "blind" else None,
    )
    removal = tang.tang_removal(
        thread,
        hole_kind=hole_kind,
        length=insert_length,
        set_down=set_down,
        screw_reach=screw_reach,
    )

    drafts: list[Draft] = [draft("drawing"), draft("crack")]
    drafts.append(draft("edge", limits=(hole.edge_limit(thread),)))
    if old_insert:
        drafts += tang.old_insert()
    else:
        drafts += hole.drilling(
            thread,
            limits,
            group,
            hole_kind=hole_kind,
            length=insert_length,
            route=route,
            hole_depth=hole_depth,
        )
        drafts += hole.tapping(
            thread, group, hole_kind=hole_kind, length=insert_length, route=route
        )
    drafts += gauging.gauging(
        thread,
        limits,
        hole_kind=hole_kind,
        length=insert_length,
        insert_kind=insert_kind,
        rule=no_go,
    )
    if protection.option != "none":
        drafts.append(draft("protect", measure=protection.words, references=protection.references))
    drafts += fitting.fitting(
        thread,
        insert_kind=insert_kind,
        tool=fit_with,
        set_down=set_down,
        tool_set_down=tool_set_down,
    )
    drafts += tang.tang(
        thread,
        removal,
        hole_kind=hole_kind,
        length=insert_length,
        drilled=max(drilled, hole_depth or 0.0) if old_insert else drilled,
        set_down=set_down,
    )
    drafts += inspection.inspecting(
        insert_kind=insert_kind,
        torque=prevailing_torque,
        reach=reach_limits,
        near_bottom=(
            hole_kind == "blind"
            and screw_reach is not None
            and screw_reach > drilled - thread.pitch
        ),
        inch=thread.system != "metric",
    )
    steps = numbered(tuple(drafts))

    facts = {*hazards, regime}
    facts |= {
        fact
        for fact, holds in {
            "blind": hole_kind == "blind",
            "magnesium": parent_group == "magnesium",
            "removal": old_insert,
            "cutting-fluid": not group.lubricant.startswith("none"),
            "cadmium": chosen_finish.option == "cadmium",
            "zinc": chosen_finish.option == "zinc",
            "hot": temperature > choice.HOT,
            "vacuum": choice.environment_class(environment) == "vacuum",
            "locking": insert_kind == "locking",
            "critical": critical,
            "tang-out": removal.remove,
            "chromate": protection.option == "primer" or "chromate" in hazards,
        }.items()
        if holds
    }
    found = cautions(facts)
    disagreements = (
        *fitting.set_down_disagreements(thread, set_down_rule),
        *gauging.no_go_disagreements(no_go.rule),
        *_tolerance_disagreement(thread, hole_class, tolerance_at),
    )
    numbers = _numbers(
        thread,
        limits,
        length=insert_length,
        drilled=drilled,
        set_down=set_down,
        reach_limits=reach_limits,
        no_go_turns=no_go.turns,
    )
    taps = Choice(
        topic="tap",
        option=route.route,
        words=route.words,
        reason=route.reason,
        references=route.references,
    )
    tools = Choice(
        topic="fitting tool",
        option=fit_with.tool,
        words=fit_with.words,
        reason=f"for {insert_kind} inserts, {work} work",
        rejected=no_tools,
        references=(fit_with.reference,),
    )
    kind = Choice(
        topic="kind",
        option=insert_kind,
        words=f"{insert_kind} insert",
        reason="asked for in the case",
        rejected=(),
        references=(
            Reference(
                source="asme-b18-29-1", clause="1.6", how_known="read", what="kinds of insert"
            ),
        ),
    )
    standard = any(abs(insert_length - n * thread.major) < 1e-3 for n in inserts.LENGTHS)
    length = Choice(
        topic="length",
        option=f"{insert_length / thread.major:.3g} D",
        words=f"{insert_length:g} mm nominal",
        reason="asked for in the case",
        note="" if standard else "Not a standard length: the insert is made or cut to order.",
        references=(
            Reference(
                source="asme-b18-29-2m",
                clause="lengths in diameters",
                how_known="read",
                what="standard insert lengths",
            ),
        ),
    )
    choices = (length, kind, chosen_wire, chosen_finish, protection, taps, tools)
    record = inspection.record_table(
        thread,
        limits,
        hole_kind=hole_kind,
        length=insert_length,
        insert_kind=insert_kind,
        drilled=drilled,
        hole_depth=hole_depth,
        set_down=set_down,
        no_go=no_go,
        torque=prevailing_torque,
        tang_removed=removal.remove,
    )
    references = dict.fromkeys(
        reference
        for group_of in (
            (reference for step in steps for reference in step.references),
            (each.reference for each in found),
            (each.reference for each in disagreements),
            (reference for each in choices for reference in each.references),
        )
        for reference in group_of
    )
    return WorkshopSheet(
        thread=thread,
        hole=limits,
        title=(
            f"{thread.designation} insert hole, class {hole_class}, {hole_kind}, "
            f"in {group.words}; {insert_kind} insert of {insert_length:g} mm"
        ),
        choices=choices,
        steps=steps,
        limits=_hole_limits(thread, limits),
        cautions=found,
        disagreements=disagreements,
        record=record,
        record_blanks=inspection.BLANKS,
        numbers=numbers,
        references=tuple(references),
    )


def _hole_class(thread: Thread, insert_kind: str) -> str:
    classes = inserts.CLOSER_CLASS if insert_kind == "locking" else inserts.USUAL_CLASS
    return classes[thread.system]


def _hole_limits(thread: Thread, limits: InternalLimits) -> tuple[Limit, ...]:
    inch = thread.system != "metric"
    return (
        Limit(name="minor diameter", least=limits.minor_min, most=limits.minor_max, inch=inch),
        Limit(name="pitch diameter", least=limits.pitch_min, most=limits.pitch_max, inch=inch),
        Limit(name="major diameter", least=limits.major_min, inch=inch),
    )


def _tolerance_disagreement(
    thread: Thread, hole_class: str, tolerance_at: str
) -> tuple[Disagreement, ...]:
    """Show the pitch diameter with the tolerance at each diameter, if that changes it."""
    found = {}
    for place in inserts.TOLERANCE_AT:
        try:
            found[place] = inserts.insert_hole(thread, hole_class, tolerance_at=place)
        except ValueError:
            # The enlarged diameter may fall where the standard has no tolerance for the pitch:
            # then there is nothing to show beside the governing one.
            return ()
    widths = {place: round(each.pitch_max, 6) for place, each in found.items()}
    if len(set(widths.values())) == 1:
        return ()
    return tuple(
        Disagreement(
            topic="tolerance of the insert hole",
            rule=f"at the {place} diameter",
            words="the standards' own table could not be read",
            governs=place == tolerance_at,
            limits=(
                Limit(
                    name="pitch diameter",
                    least=found[place].pitch_min,
                    most=found[place].pitch_max,
                    inch=thread.system != "metric",
                ),
            ),
            reference=found[place].references[1],
        )
        for place in sorted(found, key=lambda each: each != tolerance_at)
    )


def _numbers(
    thread: Thread,
    limits: InternalLimits,
    *,
    length: float,
    drilled: float,
    set_down: inserts.SetDown,
    reach_limits: reach.ScrewReach,
    no_go_turns: float,
) -> Mapping[str, float]:
    drill_min, drill_max = inserts.drill_range(limits)
    fitted_min, fitted_max = inserts.fitted_length(thread, length)
    sink = inserts.countersink(thread)
    edge = hole.edge_limit(thread).least
    values = {
        "drill_min_mm": drill_min,
        "drill_max_mm": drill_max,
        "full_thread_min_mm": inserts.full_thread_min(thread, length),
        "drill_depth_mm": drilled,
        "drill_depth_plug_mm": inserts.drill_depth(thread, length, "plug"),
        "drill_depth_bottoming_mm": inserts.drill_depth(thread, length, "bottoming"),
        "set_down_min_mm": set_down.least,
        "set_down_max_mm": set_down.most,
        "fitted_length_min_mm": fitted_min,
        "fitted_length_max_mm": fitted_max,
        "minor_go_mm": limits.minor_min,
        "minor_no_go_mm": limits.minor_max,
        "pitch_go_mm": limits.pitch_min,
        "pitch_no_go_mm": limits.pitch_max,
        "no_go_turns_max": no_go_turns,
        "countersink_diameter_min_mm": sink.diameter_min,
        "countersink_diameter_max_mm": sink.diameter_max,
        "edge_distance_min_mm": edge,
        "screw_reach_min_mm": reach_limits.least,
        "screw_reach_better_mm": reach_limits.better,
    }
    return MappingProxyType(
        {name: float(value) for name, value in values.items() if value is not None}
    )
