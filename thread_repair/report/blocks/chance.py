"""How sure the comparison is: three sentences and a figure, or the whole of it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from IPython.display import Markdown

from ... import words
from ...facts import Quantity, Term, count, force, share
from ...figures.chance import LEAST_SHARE, driver_shares
from ...sources import Reference
from ...study import Study, chances
from ...uncertainty.reliability.model import random_variables
from ...units import signed
from ..figure import ReportFigure, ReportTable
from .cells import bullets
from .layout import figure, table
from .lost import in_sound_metal


@in_sound_metal
def how_sure(study: Study) -> Markdown:
    """Say in a few sentences how sure the comparison is, and what the doubt rests on."""
    return bullets(study.chances.facts, study.case.report_units)


@in_sound_metal
def distributions_figure(study: Study) -> ReportFigure:
    """Strip loads of both states and the screw's breaking load, as many joints would show them."""
    case, found = study.case, study.chances
    loads = found.simulation
    original, repaired = (
        force(float(np.median(loads.strip[name]))) for name in ("original", "repaired")
    )
    return figure(
        "how-sure",
        study.plot.loads(),
        case.report_units,
        n=count(loads.n),
        seed=str(loads.seed),
        parent=found.parent.fact,
        original=original,
        repaired=repaired,
        screw=force(float(np.median(loads.screw))),
    )


@in_sound_metal
def probabilities_table(study: Study) -> ReportTable:
    """Every probability with its interval and the way it was found."""
    found = study.chances
    rows = []
    for name, each in found.probabilities.items():
        said = chances.probability_fact(name, each)
        stated = words.filled(words.term(Term("probability", said.id)), said.values)
        interval = words.filled("{low:3} to {high:3}", said.values)
        rows.append(
            (
                words.term(Term("event", name)),
                stated,
                interval if said.id == "probability" else "",
                words.term(Term("probability_method", each.method)),
            )
        )
    sampled = found.simulation
    return table(
        "chances",
        rows,
        confidence=share(sampled.confidence),
        n=count(sampled.n),
        seed=str(sampled.seed),
    )


@in_sound_metal
def required_table(study: Study) -> ReportTable:
    """Mean engagement at which a thread strips first no more often than a target."""
    rows = [(f"at most {100 * each.probability:g} %", each) for each in study.chances.required]
    return table("required-chance", rows, study.case.report_units)


def drivers_figure(study: Study) -> ReportFigure:
    """What the scatter of the repaired strip load and of the ratio rests on."""
    found = study.chances.drivers
    panels, tops = {}, []
    for output in ("repaired strip load", "repaired over original"):
        columns = found.columns(output)
        name = words.term(Term("output", output))
        labels = [words.term(Term("input", each)) for each in columns["input"]]
        panels[name] = {**columns, "label": labels}
        tops.append(f"of the {name}, {labels[0]} {100 * float(columns['total'][0]):.0f} %")
    told = "; ".join(tops)
    return figure("drivers", driver_shares(panels), least=share(LEAST_SHARE), told=told)


@in_sound_metal
def inputs_table(study: Study) -> ReportTable:
    """Every input that scatters, with its distribution and the parameters of it."""
    system = study.case.report_units
    rows = []
    for each in random_variables(study.chances.model):
        population: Any = each.quantity
        ends = (float(end) for end in population.support())
        rows.append(
            (
                each.name,
                population.dist.name,
                *(
                    words.quantity(Quantity(value, each.dimension), system=system, how="4")
                    if math.isfinite(value)
                    else None
                    for value in (each.mean, float(population.std()), *ends)
                ),
            )
        )
    return table("scatter", rows)


def steps_table(study: Study) -> ReportTable:
    """What one step of each input costs or gives, in the units of the trade."""
    system = study.case.report_units
    rows = []
    for step in study.chances.steps:
        by = Quantity(step.input.step, step.input.dimension)
        ends = (_signed(step.percent[state]) for state in ("original", "repaired"))
        rows.append((step.input.name, words.quantity(by, system=system, how="plain"), *ends))
    return table("steps", rows)


def _signed(percent: float) -> str:
    return "0" if abs(percent) < 0.05 else signed(percent, 1)


def cautions(study: Study) -> Markdown:
    """What the sampling leaves out; empty where there is nothing."""
    return bullets(study.chances.cautions, study.case.report_units)


def references(study: Study) -> tuple[Reference, ...]:
    """What the probabilities rest on, for the ledger."""
    return study.chances.references
