"""Which options hold, which is chosen, and why the others are dropped."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ..errors import GeometryError
from ..joint.records import EQUAL, Joint
from ..strength.edge import edge_distance
from ..strength.modes import ModeInputs, ModeSet, capacities
from ..strength.primary import wall_factor_used
from ..units import number, percent, plain, show
from .records import Alternative, Circumstances, Disposition, Trial, dispositions
from .trials import engaged_length, original_inputs, trials

#: What each mode does to the joint.
HAPPENS = {
    "screw_tension": "the screw breaks",
    "screw_thread_strip": "the screw's own thread strips",
    "parent_thread_strip": "the parent's thread strips",
    "flank_bearing": "the parent's thread flanks are crushed",
    "insert_thread_strip": "the insert's inner thread strips",
    "boss_wall": "the boss wall gives way",
}


def alternatives(
    joint: Joint, circumstances: Circumstances, *, system: str = "SI"
) -> tuple[Alternative, ...]:
    """Return every option, judged by the same terms as the comparison itself.

    An option holds if its thread strips at no lower load than the undamaged original one, or if
    even the strongest screw breaks before anything else; if the joint is as strong as before and
    carries the factored load; and if wall, edge and depth of the hole allow it. The insert of the
    joint is `chosen` if it holds; other options that hold are `kept`; if nothing holds, the part
    is rejected. Measured diameters exist for two holes only: with them, all options are compared
    at minimum material instead. `system` is that of the sentences, "SI", "inch" or "both".
    """
    if joint.tolerance_position == "measured":
        joint = replace(joint, tolerance_position="minimum-material", measured=None)
    before = capacities(original_inputs(joint, engaged_length(joint, "original")))
    judged = [
        _judged(joint, trial, before, circumstances.demand, system)
        for trial in trials(joint, circumstances, system=system)
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


def _judged(joint: Joint, trial: Trial, before: ModeSet, demand: float, system: str) -> Alternative:
    disposition = dispositions()[trial.kind]
    loads, major, length, problem = None, math.nan, math.nan, ""
    if trial.inputs is not None:
        major = float(trial.inputs.hole.hole_major_basic)
        length = float(trial.inputs.hole.length)
        try:
            loads = capacities(trial.inputs)
        except GeometryError:
            hole = show(major, "length", system=system)
            problem = f"no wall is left around a hole of {hole}"
    edge = edge_distance(
        math.nan if joint.edge_distance is None else joint.edge_distance,
        major if math.isfinite(major) else 1.0,
    )
    reason = trial.obstacle or problem
    if loads is not None and not reason:
        reason = _shortfall(joint, loads, before, demand, major, edge.ratio, system)
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
    joint: Joint,
    loads: ModeSet,
    before: ModeSet,
    demand: float,
    major: float,
    edge: float,
    system: str,
) -> str:
    """Why an option does not hold; empty if it does."""

    def force(value: float) -> str:
        return show(value, "force", system=system)

    pull_out, strength = float(loads.pull_out), float(loads.strength)
    if math.isnan(strength):
        boss = math.nan if joint.boss_diameter is None else joint.boss_diameter
        return (
            "no rule covers the wall left around a hole of "
            f"{show(major, 'length', system=system)} in a boss of "
            f"{plain(boss, dimension='length', system=system)}"
        )
    if pull_out < (1 - EQUAL) * float(before.pull_out) and not bool(loads.screw_breaks_first):
        return (
            f"strips at {force(pull_out)}, below the original's "
            f"{force(float(before.pull_out))} and before the strongest screw breaks"
        )
    if strength < (1 - EQUAL) * float(before.strength):
        return (
            f"{HAPPENS[str(loads.governing)]} at {force(strength)}, before the "
            f"original joint's {force(float(before.strength))}"
        )
    if strength < demand:
        return (
            f"{HAPPENS[str(loads.governing)]} at {force(strength)}, below the "
            f"factored load of {force(demand)}"
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
    return f"; the wall left carries {percent(left)} of what a thick one would" if left < 1 else ""


def _holds(trial: Trial, loads: ModeSet, before: ModeSet, disposition: Disposition) -> str:
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
