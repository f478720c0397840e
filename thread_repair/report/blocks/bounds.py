"""Certified bounds: does the formula hold, and what does a thin boss cost."""

from __future__ import annotations

import math

import numpy as np
from IPython.display import Markdown

from ...joint.wall import ENGAGEMENT_RANGE
from ...sources import Reference
from ...strength.collapse.wall_factor import REFERENCES as WALL_REFERENCES
from ...strength.collapse.wall_factor import TappedHole, smallest_boss_not_weaker
from ...study import Study
from ...units import show
from .. import escape
from ..figure import ReportFigure, ReportTable
from .layout import figure, table
from .lost import in_sound_metal


@in_sound_metal
def bracket_table(study: Study) -> ReportTable:
    """The formula's load between its certified bounds, for both states in a thick wall."""
    rows = [(name, each, _excess(each.excess)) for name, each in study.brackets.items()]
    return table("bounds", rows, study.case.report_units)


def _excess(share: tuple[float, float]) -> str:
    """By how much, in per cent; what the bounds leave open is a range."""
    if math.isnan(share[1]):
        return "not known: no bound certified"
    least, most = (max(0.0, 100 * each) for each in share)
    return f"{least:.1f} % to {most:.1f} %" if least >= 0.05 else f"at most {most:.1f} %"


def references(study: Study) -> tuple[Reference, ...]:
    """Where the bounds come from."""
    return (
        *(each for found in study.brackets.values() for each in found.references),
        *WALL_REFERENCES,
    )


@in_sound_metal
def wall_figure(study: Study) -> ReportFigure:
    """What a boss leaves of the strip load, for both states and both supports."""
    return figure("wall", study.plot.wall()[0])


@in_sound_metal
def smallest_boss(study: Study) -> Markdown:
    """The boss from which on the repair is certain to be at least as strong."""
    case, evaluation = study.case, study.evaluation
    original, repaired = (
        TappedHole(
            major=each.sizes.hole_major,
            area=each.mode("parent_thread_strip").area,
            engagement=_clipped(each.engagement, each.sizes.hole_major),
        )
        for each in (evaluation.original, evaluation.repaired)
    )
    lines = []
    for support, words in (("base", "supported at its base"), ("face", "supported on its face")):
        found = smallest_boss_not_weaker(original, repaired, support)
        lines.append(
            f"- In a boss {words}, the repaired thread is "
            f"{_from(found.certain, found.possible, found.searched, case.report_units)}."
        )
    return Markdown("\n".join(lines))


def _clipped(engagement: float, major: float) -> float:
    low, high = ENGAGEMENT_RANGE
    return float(np.clip(engagement, low * major, high * major))


def _from(certain: float, possible: float, searched: tuple[float, float], system: str) -> str:
    def length(value: float) -> str:
        return show(value, "length", system=system)

    low, high = (length(value) for value in searched)
    if np.isnan(certain):
        return escape.markdown(
            f"not certain to be as strong as the original in any boss from {low} to {high}"
        )
    if certain <= searched[0]:
        return escape.markdown(f"at least as strong as the original from {low} on")
    text = f"certain to be at least as strong as the original from {length(certain)} on"
    if np.isfinite(possible) and possible > searched[0]:
        text += f", and certainly weaker below {length(possible)}"
    return escape.markdown(text)
