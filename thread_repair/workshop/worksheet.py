"""The whole sheet: from plain values to steps, limits, cautions and the record."""

import math
import string
from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass, replace

from .. import inserts, tables
from ..facts import Fact, Value, fact, length, number
from ..joint.records import ROUNDING, Joint
from ..joint.sizes import accepted_hole
from ..threads.profile import InternalLimits, Thread
from . import choice, fitting, hole
from .assumptions import assumptions
from .records import Choice, Limit, RecordLine, Rule, Step, WorkOrder
from .spoiled import INSERT_HOLE_FINDINGS, spoiled

#: Torques of a locking insert that the record asks for.
_TORQUES = ("prevailing_torque", "breakaway_torque")
#: Less than this between the limits of a drilled depth, mm, prints as one number.
_DRILLED_TOLERANCE = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkshopSheet:
    """What a technician takes to the machine; nothing in it needs further arithmetic.

    Attributes
    ----------
    thread, hole : the screw's thread and the limits of its insert hole
    hole_kind : "through" or "blind"
    drilled : depth for the chosen tap, mm; of a through hole without meaning
    depths : the same by the tap's rule on depth, "plug" or "bottoming"
    fitted : length of the fitted insert, least and greatest, mm
    sink : the countersink
    reach_better : how far the screw had better reach past the joint face, mm
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
    no_go : turns that the NO-GO gauge may enter
    references : everything the sheet rests on
    """

    thread: Thread
    hole: InternalLimits
    hole_kind: str
    drilled: float
    depths: Mapping[str, float]
    fitted: tuple[float, float]
    sink: inserts.Countersink
    reach_better: float
    set_down: inserts.SetDown
    title: Fact
    choices: Mapping[str, Choice]
    steps: tuple[Step, ...]
    cautions: tuple[tables.Row, ...]
    rules: tuple[Rule, ...]
    if_spoiled: tuple[Choice, ...]
    assumed: tuple[Limit, ...]
    record: tuple[RecordLine, ...]
    no_go: Limit
    references: tuple[tables.Reference, ...]


def sheet(joint: Joint, job: WorkOrder) -> WorkshopSheet:
    """Return the workshop sheet of the insert hole of a joint.

    Parameters
    ----------
    joint : Joint
        As its strength is calculated; its set-down is that of the job's rule.
    job : WorkOrder

    Returns
    -------
    WorkshopSheet

    Raises
    ------
    InputError, GeometryError, ValidityError
        If the case cannot be made; the sentence says what to change.
    """
    thread, blind = joint.thread, joint.hole_kind == "blind"
    locking = joint.insert_kind == "locking"
    group = tables.row("parent_groups.csv", "parent_group", joint.parent.group, "parent group")
    limits = accepted_hole(joint)
    set_down = inserts.set_down(job.set_down_rule, thread)
    rule = hole.no_go_rule(job.no_go_rule)
    chosen = choice.choices(joint, job)
    depths = inserts.drill_depths(thread, joint.insert_length)
    drilled = depths[hole.depth_rule(chosen["tap"].option)]
    fitted_min, fitted_max = map(float, inserts.fitted_length(thread, joint.insert_length))
    reach_least, reach_better = fitting.screw_reach(
        thread,
        length=joint.insert_length,
        insert_kind=joint.insert_kind,
        set_down=set_down,
        reach=joint.screw_reach,
        bottom=joint.hole_depth,
    )
    tang_to = fitting.tang_stays_to(joint, set_down)
    # A screw within a pitch of the bottom may meet it.
    free = drilled - thread.pitch if blind else None
    assumed = assumptions(
        joint,
        drilled=drilled,
        reach_least=reach_least,
        reach_most=free if tang_to is None else tang_to,
        torque_nm=job.torque_nm,
    )
    # An old hole has the depth it has: nothing is drilled that could go too deep.
    if job.old_insert:
        assumed = tuple(replace(x, most=None) if x.id == "drilled_depth" else x for x in assumed)
    depth = (joint.hole_depth or drilled) if job.old_insert else drilled
    room = depth - set_down.most - fitted_max
    # Rounded up as it is printed.
    tang_depth = math.ceil(100 * (depth + fitting.TANG_CLEARANCE - room) - 1e-6) / 100
    deeper = not job.old_insert and tang_depth <= (joint.hole_depth or math.inf)
    tang_room = "tang-room-deeper" if deeper else "tang-room-short"
    thinnest = next((each.least for each in assumed if each.id == "part_thickness"), None)
    beyond = set_down.most + fitted_max - (thinnest or math.inf)
    shims = None  # where the depth stop has to do it
    if job.tool_set_down is not None and job.shim_sizes:
        shims = fitting.shim_stack(job.tool_set_down, set_down.least, set_down.most, job.shim_sizes)
    sink, no_go = inserts.countersink(thread), hole.no_go_turns(rule)
    tap, tool, protection = (chosen[x] for x in ("tap", "fitting_tool", "galvanic_protection"))
    limit = {each.id: each for each in (*assumed, *_more_limits(limits, sink, job))}
    values: dict[str, Value] = {
        "drills": hole.drills_within(limits),
        "angle": number(sink.angle),
        "chips": group["chips"],
        "lubricant": group["lubricant"],
        "tap": tap.name,
        "rule": rule["words"],
        "closer": inserts.CLOSER_CLASS[thread.system],
        "hole_class": limits.hole_class,
        "measure": protection.name,
        "tool": tool.name,
        "kind": joint.insert_kind,
        "shims": tuple(map(length, shims or ())),
        "result": length((job.tool_set_down or math.nan) - math.fsum(shims or ())),
        "words": set_down.words,
        "clearance": length(room),
        "projection": length(math.ceil(100 * beyond - 1e-6) / 100 if thinnest else 0.0),
        "tang_depth": length(tang_depth),
        "screw": joint.screw.name,
        "thread_class": joint.screw_class,
        "better": length(reach_better),
    }
    cited = {
        "hole": limits.references,
        "drills": (tables.reference(tables.rows("drills.csv")[0], "drills"),),
        "countersink": sink.references,
        "parent": (tables.reference(group, f"chips and cutting fluid, {group['words']}"),),
        "tap": tap.references,
        "gauges": (*tables.cited("inserts-hole-gauges"), *limits.references),
        "no-go": (tables.reference(rule, f"NO-GO gauge, rule {rule['rule']}"),),
        "protection": protection.references,
        "tool": tool.references,
        "set-down": (set_down.reference,),
        "reach": tables.cited("past-locking-coil") if locking else (),
        "torque": (job.prevailing_torque.reference,) if job.prevailing_torque else (),
    }
    gauged = limit["pitch_diameter"].by_class
    open_class = locking and not hole.as_close(limits.hole_class, thread)
    true = {
        "critical": job.critical,
        "basic-sizes": joint.tolerance_position == "basic",
        "chromate": protection.option == "primer",
        "cutting-fluid": not group["lubricant"].startswith("none"),
        "pitch-of-class": gauged,
        "pitch-of-its-own": not gauged,
        "turn-back": tap.option != "spiral-point",
        "closer-unified": open_class and thread.system == "unified",
        "closer": open_class and thread.system != "unified",
        "protection": protection.option != "none",
        "guided": tool.option != "hand",
        "depth-tight": (joint.hole_depth or math.inf) - drilled < _DRILLED_TOLERANCE,
        "insert-projects": beyond > ROUNDING,
        "depth-stop": shims is None,
        "shims-none": shims == (),
        "shims": bool(shims),
        "near-bottom": free is not None and (joint.screw_reach or 0.0) > free,
        "torque-unknown": job.prevailing_torque is None,
    }
    facts = {name for name, holds in true.items() if holds} | {
        joint.hole_kind,
        joint.parent.group,
        joint.insert_kind,
        job.regime,
        *job.hazards,
        *(each.option for each in (chosen["finish"], tap, tool)),
        "removal" if job.old_insert else "new-hole",
        "two-taps" if tap.option.startswith("roughing") else "one-tap",
        "tang-room" if room >= fitting.TANG_CLEARANCE else tang_room,
        "tang-out" if tang_to is None else "tang-in",
        "reach-unknown" if joint.screw_reach is None else "reach-known",
    }
    steps = tuple(_step(row, values, limit, cited) for row in holding("workshop_steps.csv", facts))
    warned = holding("cautions.csv", facts)
    rules = (*hole.rules(thread, set_down, rule), *hole.tolerance_rules(thread, limits.hole_class))
    # The condition of the hole as found, where it is another than the usual one.
    usual = ("stripped", "worn") if job.old_insert else ("stripped",)
    found = (joint.hole_condition,) if joint.hole_condition not in usual else ()
    spoilt = tuple(
        spoiled(thread, finding, edge_distance=joint.edge_distance, family=joint.parent.family)
        for finding in dict.fromkeys((*found, *INSERT_HOLE_FINDINGS))
    )
    sources = (
        *(ref for each in steps for ref in each.references),
        *(ref for each in (*chosen.values(), *spoilt) for ref in each.references),
        *(each.reference for each in rules),
        *(tables.reference(row, f"caution {row['id']}") for row in warned),
    )
    return WorkshopSheet(
        thread=thread,
        hole=limits,
        hole_kind=joint.hole_kind,
        drilled=drilled,
        depths=depths,
        fitted=(fitted_min, fitted_max),
        sink=sink,
        reach_better=reach_better,
        set_down=set_down,
        title=fact(
            f"sheet_title_{joint.hole_kind}",
            thread=thread.designation,
            hole_class=limits.hole_class,
            parent=group["words"],
            kind=joint.insert_kind,
            length=length(joint.insert_length),
        ),
        choices=chosen,
        steps=steps,
        cautions=tuple(map(dict, warned)),
        rules=rules,
        if_spoiled=spoilt,
        assumed=assumed,
        record=tuple(_record(joint, job, limit, (*[no_go] * gauged, *assumed), tang_to is None)),
        no_go=no_go,
        references=tuple(dict.fromkeys(sources)),
    )


def holding(table: str, facts: Set[str]) -> tuple[tables.Row, ...]:
    """Return the rows of a table whose conditions are all among the facts, in the table's order.

    Parameters
    ----------
    table : str
        With a column `when`: conditions, parted by spaces; none for what always holds.
    facts : Set[str]

    Returns
    -------
    tuple[tables.Row, ...]

    Examples
    --------
    >>> "magnesium-fire" in {each["id"] for each in holding("cautions.csv", {"magnesium"})}
    True
    >>> "magnesium-fire" in {each["id"] for each in holding("cautions.csv", {"blind"})}
    False
    """
    return tuple(row for row in tables.rows(table) if set(row["when"].split()) <= facts)


def _step(
    row: tables.Row,
    values: Mapping[str, Value],
    limits: Mapping[str, Limit],
    cited: Mapping[str, tuple[tables.Reference, ...]],
) -> Step:
    """Return a step with the values and limits that its text names, and those it goes with."""
    named = [name for _, name, _, _ in string.Formatter().parse(row["text"]) if name]
    return Step(
        id=row["id"],
        stage=row["stage"],
        text=row["text"],
        values={name: values[name] for name in named if name not in limits},
        limits=tuple(limits[x] for x in (*named, *row["also"].split()) if x in limits),
        references=(
            tables.reference(row, f"step {row['id']}"),
            *(each for name in row["cites"].split() for each in cited[name]),
        ),
    )


def _more_limits(
    limits: InternalLimits, sink: inserts.Countersink, job: WorkOrder
) -> Iterator[Limit]:
    """Yield the limits of tools, gauges and torque, which no strength rests on."""
    yield Limit(id="hole_diameter", least=limits.minor_min, most=limits.minor_max)
    yield Limit(
        id="countersink_diameter", least=sink.diameter_min, most=sink.diameter_max, decimals=1
    )
    for name, end, size in (
        ("go_pitch_diameter", "least", limits.pitch_min),
        ("no_go_pitch_diameter", "most", limits.pitch_max),
    ):
        yield Limit(id=name, least=size, most=size, end_of=end)
    yield Limit(id="tang_room", least=fitting.TANG_CLEARANCE, decimals=2)
    if torque := job.prevailing_torque:
        yield Limit(id=_TORQUES[0], most=torque.most_nm, dimension="torque", decimals=2)
        if not math.isnan(least := torque.breakaway_least_nm):
            yield Limit(id=_TORQUES[1], least=least, dimension="torque", decimals=2)


def _record(
    joint: Joint,
    job: WorkOrder,
    limits: Mapping[str, Limit],
    inspected: Iterable[Limit],
    tang_removed: bool,
) -> Iterator[RecordLine]:
    """Yield the lines of the record; every limit inspected has a line of its own.

    Those that the class of a thread sees to are there as the class and its gauges.
    """
    size: dict[str, Value] = {"thread": joint.thread.designation}
    # inserts are ordered by diameters: in inches 16 mm of M8 are no size that anybody keeps
    size["diameters"] = number(joint.insert_length / joint.thread.major)
    size["length"] = length(joint.insert_length)
    size["wire"] = joint.wire.id  # its strength is that of the insert
    classes = {"screw": joint.screw.name, "thread_class": joint.screw_class}
    yield RecordLine(id="drawing")
    yield RecordLine(id=f"insert_{joint.insert_kind.replace('-', '_')}", values=size)
    yield RecordLine(id="screw", values=classes)
    yield RecordLine(id="tap", values={"hole_class": joint.insert_hole_class})
    yield RecordLine(id="go_gauge")
    for limit in inspected:
        if not limit.by_class:
            yield RecordLine(id=limit.id, values={"limit": limit})
    if tang_removed:
        yield RecordLine(id="tangs")
    if joint.insert_kind != "locking":
        yield RecordLine(id="free_running")
    else:
        for id_ in _TORQUES:
            if id_ in limits:
                yield RecordLine(id=id_, values={"limit": limits[id_]})
            else:
                yield RecordLine(id=f"{id_}_open")
    yield RecordLine(id="surface")
