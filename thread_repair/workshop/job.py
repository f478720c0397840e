"""One job: its plain values, what was decided from them, and the lines that follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from .. import inserts
from ..sources import Reference
from ..threads.profile import InternalLimits, Thread
from ..units import plain, to_decimals
from . import choice, fitting, gauging, hole, inspection, reach, tang
from .records import Choice, Disagreement, Draft, Limit, Rejected, draft, limit_system


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """The plain values of a sheet and everything that was decided from them."""

    thread: Thread
    limits: InternalLimits
    group: hole.ParentGroup
    length: float
    hole_kind: str
    insert_kind: str
    hole_depth: float | None
    screw_reach: float | None
    edge_distance: float | None
    tool_set_down: float | None
    tolerance_at: str
    torque: inspection.TorqueLimits | None
    old_insert: bool
    critical: bool
    regime: str
    hazards: tuple[str, ...]
    work: str
    set_down: inserts.SetDown
    no_go: gauging.NoGoRule
    wire: Choice
    finish: Choice
    protection: Choice
    tool: fitting.FittingTool
    no_tools: tuple[Rejected, ...]
    route: hole.TapRoute
    drilled: float
    screw: reach.ScrewReach
    removal: tang.TangRemoval
    system: str

    @property
    def limits_in(self) -> str:
        """Units of the limits of the hole."""
        return limit_system(self.thread, self.system)


def drafts(job: Job) -> tuple[Draft, ...]:
    """Return the steps in the order of work."""
    edge = hole.edge_limit(job.thread, system=job.system)
    steps = [draft("drawing"), draft("crack"), draft("edge", limits=(edge,))]
    if job.edge_distance is not None and job.edge_distance < (edge.least or 0.0):
        distance = to_decimals(job.edge_distance, decimals=1, dimension="length", system=job.system)
        steps.append(draft("edge-short", distance=distance))
    if job.old_insert:
        steps += tang.old_insert()
    else:
        steps += hole.drilling(
            job.thread,
            job.limits,
            job.group,
            hole_kind=job.hole_kind,
            length=job.length,
            route=job.route,
            hole_depth=job.hole_depth,
            system=job.system,
        )
        steps += hole.tapping(
            job.thread,
            job.group,
            hole_kind=job.hole_kind,
            length=job.length,
            route=job.route,
            system=job.system,
        )
    steps += gauging.gauging(
        job.thread,
        job.limits,
        hole_kind=job.hole_kind,
        length=job.length,
        insert_kind=job.insert_kind,
        rule=job.no_go,
        system=job.system,
    )
    if job.protection.option != "none":
        steps.append(
            draft("protect", measure=job.protection.words, references=job.protection.references)
        )
    steps += fitting.fitting(
        job.thread,
        insert_kind=job.insert_kind,
        tool=job.tool,
        set_down=job.set_down,
        tool_set_down=job.tool_set_down,
        system=job.system,
    )
    steps += tang.tang(
        job.thread,
        job.removal,
        hole_kind=job.hole_kind,
        length=job.length,
        # An old hole has the depth it has.
        drilled=(job.hole_depth or job.drilled) if job.old_insert else job.drilled,
        set_down=job.set_down,
        system=job.system,
    )
    steps += inspection.inspecting(
        insert_kind=job.insert_kind,
        torque=job.torque,
        reach=job.screw,
        near_bottom=(
            job.hole_kind == "blind"
            and job.screw_reach is not None
            and job.screw_reach > job.drilled - job.thread.pitch
        ),
        limits_in=job.limits_in,
        system=job.system,
    )
    return tuple(steps)


def facts(job: Job) -> frozenset[str]:
    """Return what the conditions of the cautions ask about."""
    holds = {
        "blind": job.hole_kind == "blind",
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
        reason=f"for {job.insert_kind} inserts, {job.work} work",
        rejected=job.no_tools,
        references=(job.tool.reference,),
    )
    return length, kind, job.wire, job.finish, job.protection, taps, tools


def hole_limits(job: Job) -> tuple[Limit, ...]:
    """Return the limits of size of the hole."""
    limits, system = job.limits, job.limits_in
    return (
        Limit(name="minor diameter", least=limits.minor_min, most=limits.minor_max, system=system),
        Limit(name="pitch diameter", least=limits.pitch_min, most=limits.pitch_max, system=system),
        Limit(name="major diameter", least=limits.major_min, system=system),
    )


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
            governs=place == job.tolerance_at,
            limits=(
                Limit(
                    name="pitch diameter",
                    least=found[place].pitch_min,
                    most=found[place].pitch_max,
                    system=job.limits_in,
                ),
            ),
            reference=found[place].references[1],
        )
        for place in sorted(found, key=lambda each: each != job.tolerance_at)
    )


def numbers(job: Job) -> Mapping[str, float]:
    """Return the limits by the keys of the results file, mm."""
    drill_min, drill_max = inserts.drill_range(job.limits)
    fitted_min, fitted_max = inserts.fitted_length(job.thread, job.length)
    sink = inserts.countersink(job.thread)
    values = {
        "drill_min_mm": drill_min,
        "drill_max_mm": drill_max,
        "full_thread_min_mm": inserts.full_thread_min(job.thread, job.length),
        "drill_depth_mm": job.drilled,
        "drill_depth_plug_mm": inserts.drill_depth(job.thread, job.length, "plug"),
        "drill_depth_bottoming_mm": inserts.drill_depth(job.thread, job.length, "bottoming"),
        "set_down_min_mm": job.set_down.least,
        "set_down_max_mm": job.set_down.most,
        "fitted_length_min_mm": fitted_min,
        "fitted_length_max_mm": fitted_max,
        "minor_go_mm": job.limits.minor_min,
        "minor_no_go_mm": job.limits.minor_max,
        "pitch_go_mm": job.limits.pitch_min,
        "pitch_no_go_mm": job.limits.pitch_max,
        "no_go_turns_max": job.no_go.turns,
        "countersink_diameter_min_mm": sink.diameter_min,
        "countersink_diameter_max_mm": sink.diameter_max,
        "edge_distance_min_mm": hole.edge_limit(job.thread).least or 0.0,
        "screw_reach_min_mm": job.screw.least,
        "screw_reach_better_mm": job.screw.better,
    }
    return MappingProxyType({name: float(value) for name, value in values.items()})
