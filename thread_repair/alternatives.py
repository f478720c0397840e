"""Which other repairs were considered, and why not: the same evaluation for every option."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from . import inserts, materials, tables, threads
from .errors import GeometryError, ThreadRepairError, ValidityError
from .joint.budget import budget, engaged
from .joint.inputs import mode_inputs
from .joint.records import Joint
from .joint.sizes import sizes
from .joint.verdict import EQUAL, HAPPENS
from .joint.wall import certified_wall_factor
from .sources import Reference
from .strength.capacities import capacities
from .strength.edge import edge_distance
from .strength.modes import ModeInputs, ModeSet
from .strength.primary import wall_factor_used
from .threads.profile import Thread
from .units import number, show

VERDICTS = ("chosen", "kept", "dropped")

#: Steel of a solid bush where nothing else is known, as a screw class of the tables.
BUSH_STEEL = "300-series"


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """What the alternatives need beyond the joint; None where it is not known.

    Attributes
    ----------
    damaged_fraction : part of the threads of the original hole that is lost, 0 to 1
    engagement_available : mm
        Full thread that the original hole could offer to a longer screw.
    bush_diameter_thin, bush_diameter_heavy : mm
        Outside diameter of a solid bush; None takes a generic one.
    demand : N
        Greatest factored load; 0 for none.
    """

    damaged_fraction: float | None = None
    engagement_available: float | None = None
    bush_diameter_thin: float | None = None
    bush_diameter_heavy: float | None = None
    demand: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Disposition:
    """When the trade takes an option, what speaks against it, and who says so."""

    option: str
    title: str
    usual: str
    drawback: str
    reference: Reference


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One option with its numbers, verdict and reason; NaN where a number does not exist.

    Attributes
    ----------
    option, title : name in tables, name in text
    size : what is fitted or used, in words
    engaged, hole_major : mm
        Engaged length; major diameter of the hole that the option leaves in the parent.
    pull_out, strength : N
        Lowest strip load; lowest capacity of all modes.
    ratio : pull-out strength over that of the undamaged original thread
    governing_mode : or "unknown"
    wall : mm
        Wall of the boss left around the hole.
    edge_ratio : edge distance over the hole's major diameter
    verdict : "chosen", "kept" (would hold as well) or "dropped"
    reason : why, in a sentence
    disposition : when the trade takes this option
    """

    option: str
    title: str
    size: str
    engaged: float
    hole_major: float
    pull_out: float
    strength: float
    ratio: float
    governing_mode: str
    wall: float
    edge_ratio: float
    verdict: str
    reason: str
    disposition: Disposition


@cache
def dispositions() -> Mapping[str, Disposition]:
    """Return the kinds of option by name, in the order of the table."""
    return {
        row["option"]: Disposition(
            option=row["option"],
            title=row["title"],
            usual=row["usual"],
            drawback=row["drawback"],
            reference=tables.reference(row, f"disposition: {row['title'].lower()}"),
        )
        for row in tables.rows("alternatives.csv")
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trial:
    """An option before it is judged. `obstacle` is why it cannot be made, whatever it holds."""

    kind: str
    option: str
    size: str
    inputs: ModeInputs | None = None
    obstacle: str = ""
    note: str = ""
    is_proposed: bool = False


def alternatives(joint: Joint, circumstances: Circumstances) -> tuple[Alternative, ...]:
    """Return every option, judged by the same terms as the comparison itself.

    An option holds if its thread strips at no lower load than the undamaged original one, or if
    even the strongest screw breaks before anything else; if the joint is as strong as before and
    carries the factored load; and if wall, edge and depth of the hole allow it. The insert of the
    joint is `chosen` if it holds; other options that hold are `kept`; if nothing holds, the part
    is rejected. Measured diameters exist for two holes only: with them, all options are compared
    at minimum material instead.
    """
    if joint.tolerance_position == "measured":
        joint = replace(joint, tolerance_position="minimum-material", measured=None)
    before = capacities(_original(joint, _engaged(joint, "original")))
    judged = [
        _judged(joint, trial, before, circumstances.demand)
        for trial in _trials(joint, circumstances)
    ]
    held = [each for each in judged if each.verdict != "dropped"]
    return (*judged, _reject(held))


def summary(found: tuple[Alternative, ...]) -> str:
    """Say in a sentence or two which option is taken and which would do as well."""
    chosen = [each for each in found if each.verdict == "chosen"]
    kept = [_named(each) for each in found if each.verdict == "kept"]
    if chosen and chosen[0].option != "reject":
        text = f"Chosen: {_named(chosen[0])}."
        return (
            f"{text} It would also hold to use: {'; '.join(kept)}."
            if kept
            else (f"{text} No other option holds.")
        )
    if kept:
        return f"The insert of the case does not hold. These options would: {'; '.join(kept)}."
    return "No option holds on these terms: the part is rejected, or the joint is designed anew."


def _named(option: Alternative) -> str:
    return f"{option.title.lower()} ({option.size})" if option.size else option.title.lower()


def _trials(joint: Joint, circumstances: Circumstances) -> Iterator[_Trial]:
    yield _damaged(joint, circumstances)
    yield _longer(joint, circumstances)
    yield _larger(joint)
    yield from _inserts(joint)
    for kind, given in (
        ("bush-thin", circumstances.bush_diameter_thin),
        ("bush-heavy", circumstances.bush_diameter_heavy),
    ):
        yield _bush(joint, kind, given)


def _engaged(joint: Joint, state: str) -> float:
    return float(engaged(budget(joint, state)))


def _original(joint: Joint, length: float) -> ModeInputs:
    return mode_inputs(joint, "original", length)


def _damaged(joint: Joint, circumstances: Circumstances) -> _Trial:
    kind = "leave-as-damaged"
    fraction = circumstances.damaged_fraction
    if fraction is None:
        return _Trial(
            kind=kind,
            option=kind,
            size="",
            obstacle="the case does not say how much of the thread is lost (damaged_fraction)",
        )
    # Whatever is lost is taken from what the screw reaches.
    left = max(_engaged(joint, "original") - fraction * joint.engagement, 0.0)
    return _Trial(
        kind=kind,
        option=kind,
        size=f"{fraction:.0%} of the thread lost",
        inputs=_original(joint, left) if left > 0 else None,
        obstacle="" if left > 0 else "no sound thread is left within the reach of the screw",
    )


def _longer(joint: Joint, circumstances: Circumstances) -> _Trial:
    kind = "longer-engagement"
    available = circumstances.engagement_available
    lost = (circumstances.damaged_fraction or 0.0) * joint.engagement
    if available is None:
        return _Trial(
            kind=kind,
            option=kind,
            size="",
            obstacle="the case does not say how much full thread a longer screw would find "
            "(engagement_available)",
        )
    left = available - lost
    size = f"{available:g} mm of thread, {number(lost)} mm of it lost"
    if left <= 0:
        return _Trial(kind=kind, option=kind, size=size, obstacle="all of that thread is lost")
    return _Trial(kind=kind, option=kind, size=size, inputs=_original(joint, left))


def _larger(joint: Joint) -> _Trial:
    kind = "larger-screw"
    thread = next_larger(joint.thread, joint.hole_class)
    if thread is None:
        return _Trial(
            kind=kind,
            option=kind,
            size="",
            obstacle=f"no larger thread of the series ({joint.thread.series}) is known",
        )
    size = f"{thread.designation}, class {joint.screw.id}"
    try:
        larger = replace(joint, thread=thread, screw=materials.screw(joint.screw.id, thread.major))
        inputs = _original(larger, _engaged(larger, "original"))
    except ThreadRepairError as error:
        return _Trial(kind=kind, option=kind, size=size, obstacle=str(error))
    return _Trial(kind=kind, option=kind, size=size, inputs=inputs)


def next_larger(thread: Thread, hole_class: str) -> Thread | None:
    """Return the next larger thread of the same series that the old hole can be drilled out for.

    The new hole, drilled to its upper limit, must remove the old thread to its basic major
    diameter. Of metric threads only the first choice of ISO 261 is offered. None at the end of
    the series.

    Examples
    --------
    >>> from thread_repair.threads import thread
    >>> next_larger(thread("M8x1.25"), "6H").designation
    'M10x1.5'
    """
    series = thread.series
    if series not in {known.series for known in threads.known()}:
        series = "ISO metric fine"
    for candidate in sorted(threads.known(), key=lambda t: (t.major, -t.pitch)):
        if candidate.series != series or candidate.major <= thread.major:
            continue
        if candidate.system == "metric" and not _is_first_choice(candidate):
            continue
        try:
            hole = threads.internal_limits(candidate, hole_class)
        except ThreadRepairError:
            continue
        if hole.minor_max >= thread.major:
            return candidate
    return None


@cache
def _first_choices() -> frozenset[tuple[float, float]]:
    return frozenset(
        (float(row["diameter_mm"]), float(row["pitch_mm"]))
        for row in tables.rows("iso_261.csv")
        if row["choice"] == "1"
    )


def _is_first_choice(thread: Thread) -> bool:
    return (thread.major, thread.pitch) in _first_choices()


def _inserts(joint: Joint) -> Iterator[_Trial]:
    """Yield a trial for each standard length, and for the joint's own where it is not standard."""
    major = joint.thread.major
    proposed = next(
        (n for n in inserts.LENGTHS if math.isclose(n * major, joint.insert_length, rel_tol=1e-3)),
        joint.insert_length / major,
    )
    for n in sorted({*inserts.LENGTHS, proposed}):
        length = joint.insert_length if n == proposed else n * major
        changed = replace(joint, insert_length=length)
        left = _engaged(changed, "repaired")
        obstacle, note = _depth(changed)
        fitted, _ = inserts.fitted_length(joint.thread, length)
        if not obstacle and left <= 0:
            obstacle = "the screw does not reach it"
        elif left < fitted - 1e-9:
            short = f"the screw reaches {number(left)} of its {number(float(fitted))} mm"
            note = f"{note}; {short}" if note else short
        yield _Trial(
            kind="wire-insert",
            option=f"wire-insert-{n:.4g}D",
            size=f"{n:.3g} D, {length:.4g} mm",
            inputs=mode_inputs(changed, "repaired", left) if left > 0 else None,
            obstacle=obstacle,
            note=note,
            is_proposed=n == proposed,
        )


def _depth(joint: Joint) -> tuple[str, str]:
    """Why the hole is not deep enough for an insert, or what it asks for."""
    if joint.hole_depth is None:
        return "", ""
    length = joint.insert_length
    if joint.hole_kind == "through":
        if joint.hole_depth < length:
            return f"the part is {joint.hole_depth:g} mm thick, thinner than the insert is long", ""
        return "", ""
    bottoming, plug = (
        float(inserts.drill_depth(joint.thread, length, tap)) for tap in ("bottoming", "plug")
    )
    if joint.hole_depth < bottoming:
        return (
            f"it needs a hole of {number(bottoming)} mm, drilled are {joint.hole_depth:g} mm",
            "",
        )
    return "", "a bottoming tap must finish the hole" if joint.hole_depth < plug else ""


def _bush(joint: Joint, kind: str, given: float | None) -> _Trial:
    constant = tables.constant(f"{kind.replace('-', '_')}_over_major")
    outside = constant.value * joint.thread.major if given is None else given
    size = f"{outside:.3g} mm outside" + ("" if given is not None else ", generic")
    try:
        inputs = bush_inputs(joint, outside)
    except (GeometryError, ValidityError) as error:
        return _Trial(kind=kind, option=kind, size=size, obstacle=str(error))
    return _Trial(
        kind=kind,
        option=kind,
        size=size,
        inputs=inputs,
        note="taken as long as the insert",
    )


def bush_inputs(joint: Joint, outside: float) -> ModeInputs:
    """Return a solid bush of steel in the parent, as the strength functions take it.

    Parameters
    ----------
    joint : Joint
        Its insert length is the bush's length.
    outside : float, mm
        Basic major diameter of the bush's outer thread.

    Notes
    -----
    The parent strips on the outer thread, which is taken with the screw's own profile, pitch and
    tolerances at the larger diameter: at basic size the area per length depends on the diameter
    alone. The parent holds the whole bush; the screw reaches as far into it as it is long. Ends
    without full thread are not deducted. Inside, the bush's thread shears like an insert's, with
    the shear strength of an austenitic steel.

    Source: derived here; no standard bush is modelled.
    """
    at = sizes(joint, "original")
    shift = outside - joint.thread.major
    if shift <= 2 * (at.screw_major - at.hole_minor):
        raise GeometryError(
            f"a bush of {outside:g} mm outside leaves no wall between its two threads"
        )
    length = joint.insert_length
    reach = length
    if joint.screw_reach is not None:
        reach = min(length, max(joint.screw_reach - joint.set_down_max, 0.0))
    steel = materials.screw(BUSH_STEEL, joint.thread.major)
    whole = mode_inputs(joint, "repaired", length)
    hole = replace(
        whole.hole,
        external_major=at.crest + shift,
        internal_pitch_diameter=at.hole_pitch + shift,
        hole_minor=at.hole_minor + shift,
        hole_major_basic=outside,
        internal_minor=at.inner_minor,
        screw_length=reach,
    )
    return replace(
        whole,
        hole=hole,
        insert_pitch_diameter=at.hole_pitch,
        wire_shear=steel.tensile_min * steel.shear_over_tensile,
        wall_factor=certified_wall_factor(joint, "repaired", outside, length),
    )


def _judged(joint: Joint, trial: _Trial, before: ModeSet, demand: float) -> Alternative:
    disposition = dispositions()[trial.kind]
    loads, major, length, problem = None, math.nan, math.nan, ""
    if trial.inputs is not None:
        major = float(trial.inputs.hole.hole_major_basic)
        length = float(trial.inputs.hole.length)
        try:
            loads = capacities(trial.inputs)
        except GeometryError:
            problem = f"no wall is left around a hole of {number(major)} mm"
    edge = edge_distance(
        math.nan if joint.edge_distance is None else joint.edge_distance,
        major if math.isfinite(major) else 1.0,
    )
    reason = trial.obstacle or problem
    if loads is not None and not reason:
        reason = _shortfall(joint, loads, before, demand, major, edge.ratio)
        if reason and loads.pull_out < before.pull_out:
            reason += _wall_words(trial.inputs)
    holds = not reason
    if holds:
        assert loads is not None
        reason = _holds(trial, loads, before, disposition)
    pull_out = math.nan if loads is None else float(loads.pull_out)
    boss = math.nan if joint.boss_diameter is None else joint.boss_diameter
    return Alternative(
        option=trial.option,
        title=disposition.title,
        size=trial.size,
        engaged=length,
        hole_major=major,
        pull_out=pull_out,
        strength=math.nan if loads is None else float(loads.strength),
        ratio=pull_out / float(before.pull_out),
        governing_mode="unknown" if loads is None else str(loads.governing),
        wall=(boss - major) / 2,
        edge_ratio=float(edge.ratio) if math.isfinite(major) else math.nan,
        verdict="dropped" if not holds else ("chosen" if trial.is_proposed else "kept"),
        reason=reason[0].upper() + reason[1:] + ".",
        disposition=disposition,
    )


def _shortfall(
    joint: Joint, loads: ModeSet, before: ModeSet, demand: float, major: float, edge: float
) -> str:
    """Why an option does not hold; empty if it does."""
    pull_out, strength = float(loads.pull_out), float(loads.strength)
    if math.isnan(strength):
        return (
            f"no rule covers the wall left around a hole of {number(major)} mm in a boss "
            f"of {joint.boss_diameter:g} mm"
        )
    if pull_out < (1 - EQUAL) * float(before.pull_out) and not bool(loads.screw_breaks_first):
        return (
            f"strips at {show(pull_out, 'force')}, below the original's "
            f"{show(float(before.pull_out), 'force')} and before the strongest screw breaks"
        )
    if strength < (1 - EQUAL) * float(before.strength):
        return (
            f"{HAPPENS[str(loads.governing)]} at {show(strength, 'force')}, before the "
            f"original joint's {show(float(before.strength), 'force')}"
        )
    if strength < demand:
        return (
            f"{HAPPENS[str(loads.governing)]} at {show(strength, 'force')}, below the "
            f"factored load of {show(demand, 'force')}"
        )
    found = edge_distance(np.nan if joint.edge_distance is None else joint.edge_distance, major)
    if found.level == "too near":
        return (
            f"the edge is {number(edge)} diameters of its hole away, less than "
            f"{found.least:g}; the strength of the edge must be shown first"
        )
    return ""


def _wall_words(inputs: ModeInputs | None) -> str:
    """What a thin wall takes of the strip load, in words; empty where it takes nothing."""
    if inputs is None:
        return ""
    left = float(wall_factor_used(inputs.hole, inputs.wall_factor))
    return f"; the wall left carries {left:.0%} of what a thick one would" if left < 1 else ""


def _holds(trial: _Trial, loads: ModeSet, before: ModeSet, disposition: Disposition) -> str:
    ratio = float(loads.pull_out) / float(before.pull_out)
    text = f"holds {number(ratio)} times the original's strip load"
    if bool(loads.screw_breaks_first):
        text += "; the strongest screw breaks before that"
    if trial.note:
        text += f"; {trial.note}"
    if not trial.is_proposed:
        text += f". Against it: {disposition.drawback}"
    return text


def _reject(held: list[Alternative]) -> Alternative:
    disposition = dispositions()["reject"]
    reason = (
        "Not needed as long as no crack is found: an option above holds."
        if held
        else "None of the options above holds."
    )
    return Alternative(
        option="reject",
        title=disposition.title,
        size="",
        engaged=math.nan,
        hole_major=math.nan,
        pull_out=math.nan,
        strength=math.nan,
        ratio=math.nan,
        governing_mode="unknown",
        wall=math.nan,
        edge_ratio=math.nan,
        verdict="dropped" if held else "chosen",
        reason=reason,
        disposition=disposition,
    )
