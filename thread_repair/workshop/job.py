"""One job: its plain values, what was decided from them, and the lines that follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from .. import inserts
from ..joint.records import Joint
from ..sources import Reference
from ..threads.profile import InternalLimits, Thread
from ..units import plain, to_decimals
from . import choice, fitting, gauging, hole, inspection, tang
from .assumptions import Assumption, edge_distance_min
from .records import Choice, Disagreement, Draft, Limit, Limits, draft, limit_system


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """The joint of a sheet and everything that was decided for its hole."""

    joint: Joint
    limits: InternalLimits
    group: hole.ParentGroup
    insert_kind: str
    tool_set_down: float | None
    shim_sizes: tuple[float, ...]
    torque: inspection.TorqueLimits | None
    old_insert: bool
    critical: bool
    regime: str
    hazards: tuple[str, ...]
    set_down: inserts.SetDown
    no_go: gauging.NoGoRule
    wire: Choice
    finish: Choice
    protection: Choice
    tool: fitting.FittingTool
    route: hole.TapRoute
    drilled: float
    better_reach: float
    removal: tang.TangRemoval
    assumed: tuple[Assumption, ...]
    system: str

    @property
    def thread(self) -> Thread:
        """Thread of the screw."""
        return self.joint.thread

    @property
    def length(self) -> float:
        """Nominal length of the insert, mm."""
        return self.joint.insert_length

    def limit(self, *ids: str) -> Limits:
        """Return those limits of the assumptions that this joint has."""
        return tuple(each.limit for each in self.assumed if each.id in ids and each.holds)


def drafts(job: Job) -> tuple[Draft, ...]:
    """Return the steps in the order of work."""
    joint, thread, length = job.joint, job.thread, job.length
    steps = [
        draft("drawing"),
        draft("crack"),
        draft("edge", limits=job.limit("edge_distance", "boss_diameter")),
    ]
    if joint.edge_distance is not None and joint.edge_distance < edge_distance_min(joint):
        distance = to_decimals(
            joint.edge_distance, decimals=1, dimension="length", system=job.system
        )
        steps.append(draft("edge-short", distance=distance))
    if job.old_insert:
        steps += tang.old_insert()
    else:
        steps += hole.drilling(
            thread,
            job.limits,
            job.group,
            depth=job.limit("drilled_depth"),
            thickness=job.limit("part_thickness"),
            system=job.system,
        )
        steps += hole.tapping(
            job.group,
            hole_kind=joint.hole_kind,
            route=job.route,
            full_thread=job.limit("full_thread"),
        )
    steps += gauging.gauging(
        thread,
        job.limits,
        hole_kind=joint.hole_kind,
        full_thread=job.limit("full_thread"),
        insert_kind=job.insert_kind,
        rule=job.no_go,
        system=job.system,
    )
    if job.protection.option != "none":
        steps.append(
            draft("protect", measure=job.protection.words, references=job.protection.references)
        )
    steps += fitting.fitting(
        thread,
        insert_kind=job.insert_kind,
        tool=job.tool,
        set_down=job.set_down,
        tool_set_down=job.tool_set_down,
        shim_sizes=job.shim_sizes,
        system=job.system,
    )
    steps += tang.tang(
        thread,
        job.removal,
        hole_kind=joint.hole_kind,
        length=length,
        # An old hole has the depth it has.
        drilled=(joint.hole_depth or job.drilled) if job.old_insert else job.drilled,
        set_down=job.set_down,
        screw_reach=job.limit("screw_reach"),
        system=job.system,
    )
    steps += inspection.inspecting(
        insert_kind=job.insert_kind,
        torque=job.torque,
        screw=f"{joint.screw.id}, {joint.screw_class}",
        diameters=job.limit("screw_major_diameter", "screw_pitch_diameter"),
        reach=job.limit("screw_reach"),
        better=job.better_reach,
        near_bottom=(
            joint.hole_kind == "blind"
            and joint.screw_reach is not None
            and joint.screw_reach > job.drilled - thread.pitch
        ),
        system=job.system,
    )
    return tuple(steps)


def facts(job: Job) -> frozenset[str]:
    """Return what the conditions of the cautions ask about."""
    holds = {
        "blind": job.joint.hole_kind == "blind",
        "magnesium": job.group.name == "magnesium",
        "removal": job.old_insert,
        "cutting-fluid": not job.group.lubricant.startswith("none"),
        "cadmium": job.finish.option == "cadmium",
        "locking": job.insert_kind == "locking",
        "critical": job.critical,
        "tang-out": job.removal.remove,
        "chromate": job.protection.option == "primer",
    }
    return frozenset({fact for fact, true in holds.items() if true} | {*job.hazards, job.regime})


def choices(job: Job) -> tuple[Choice, ...]:
    """Return every decision with its reason, in the order of the job."""
    standard = any(abs(job.length - n * job.thread.major) < 1e-3 for n in inserts.LENGTHS)
    length = Choice(
        topic="length",
        option=f"{job.length / job.thread.major:.3g} D",
        words=f"{plain(job.length, dimension='length', system=job.system)} nominal",
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
    kind = Choice(
        topic="kind",
        option=job.insert_kind,
        words=f"{job.insert_kind} insert",
        reason="asked for in the case",
        references=(choice.KINDS,),
    )
    taps = Choice(
        topic="tap",
        option=job.route.route,
        words=job.route.words,
        reason=job.route.reason,
        references=job.route.references,
    )
    tools = Choice(
        topic="fitting tool",
        option=job.tool.tool,
        words=job.tool.words,
        reason="guides the coil into the thread"
        if job.tool.tool == fitting.USUAL_TOOL
        else "asked for in the case",
        references=(job.tool.reference,),
    )
    return length, kind, job.wire, job.finish, job.protection, taps, tools


def hole_limits(job: Job) -> tuple[Limit, ...]:
    """Return the limits of size of the hole."""
    units = limit_system(job.thread, job.system)
    major = Limit(name="major diameter", least=job.limits.major_min, system=units)
    return (*job.limit("minor_diameter", "pitch_diameter"), major)


def tolerance_disagreement(job: Job) -> tuple[Disagreement, ...]:
    """Show the pitch diameter with the tolerance at each diameter, if that changes it."""
    found = {}
    for place in inserts.TOLERANCE_AT:
        try:
            found[place] = inserts.insert_hole(
                job.thread, job.limits.hole_class, tolerance_at=place
            )
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
            governs=place == "nominal",
            limits=(
                Limit(
                    name="pitch diameter",
                    least=each.pitch_min,
                    most=each.pitch_max,
                    system=limit_system(job.thread, job.system),
                ),
            ),
            reference=each.references[1],
        )
        for place, each in found.items()
    )


def numbers(job: Job) -> Mapping[str, float]:
    """Return the limits by the keys of the results file, mm or N·m; NaN where there is none."""
    drill_min, drill_max = inserts.drill_range(job.limits)
    fitted_min, fitted_max = inserts.fitted_length(job.thread, job.length)
    sink = inserts.countersink(job.thread)
    values = {
        "drill_min_mm": drill_min,
        "drill_max_mm": drill_max,
        "drill_depth_mm": job.drilled,
        "drill_depth_plug_mm": inserts.drill_depth(job.thread, job.length, "plug"),
        "drill_depth_bottoming_mm": inserts.drill_depth(job.thread, job.length, "bottoming"),
        "fitted_length_min_mm": fitted_min,
        "fitted_length_max_mm": fitted_max,
        "minor_go_mm": job.limits.minor_min,
        "minor_no_go_mm": job.limits.minor_max,
        "pitch_go_mm": job.limits.pitch_min,
        "pitch_no_go_mm": job.limits.pitch_max,
        "no_go_turns_max": job.no_go.turns,
        "countersink_diameter_min_mm": sink.diameter_min,
        "countersink_diameter_max_mm": sink.diameter_max,
        "countersink_depth_max_mm": job.joint.countersink_depth,
        "screw_reach_better_mm": job.better_reach,
    }
    for each in job.assumed:
        unit = "mm" if each.limit.unit == "mm" else "Nm"
        for end, value in (("min", each.limit.least), ("max", each.limit.most)):
            if value is not None:
                values[f"{each.id}_{end}_{unit}"] = value
    return MappingProxyType({name: float(value) for name, value in values.items()})
