"""How sure the comparison is: three sentences and a figure, or the whole of it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from IPython.display import Markdown

from ... import words
from ...facts import Quantity, Term
from ...figures.chance import LEAST_SHARE, driver_shares
from ...sources import Reference
from ...study import Study, chances
from ...uncertainty.reliability.model import random_variables
from ...units import show, signed
from .. import escape
from ..figure import ReportFigure, ReportTable
from .cells import bullets, cell, head


def how_sure(study: Study) -> Markdown:
    """Say in a few sentences how sure the comparison is, and what the doubt rests on."""
    system = study.case.report_units
    found = (words.sentence(each, system=system) for each in study.chances.facts)
    return Markdown(escape.markdown(" ".join(found)))


def distributions_figure(study: Study) -> ReportFigure:
    """Strip loads of both states and the screw's breaking load, as many joints would show them."""
    case, found = study.case, study.chances
    loads = found.simulation
    medians = ", ".join(
        f"{show(float(np.median(loads.strip[state])), 'force', system=case.report_units)} ({state})"
        for state in ("original", "repaired")
    )
    return ReportFigure(
        study.plot.loads(),
        caption=f"Loads of {loads.n:,} sampled joints (seed {loads.seed}): sizes within their "
        f"tolerances, fitted length and screw strength between their limits. "
        f"{words.sentence(found.parent.fact, system=case.report_units)}",
        alt=f"Three humps over the load. Median strip loads: {medians}; median breaking load of "
        f"the screw: {show(float(np.median(loads.screw)), 'force', system=case.report_units)}.",
        label="how-sure",
    )


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
    return ReportTable(
        [
            "Event",
            "Probability",
            f"{100 * found.simulation.confidence:.0f} % confidence interval",
            "Found by",
        ],
        rows,
        caption=f"Probabilities in {found.simulation.n:,} sampled joints, seed "
        f"{found.simulation.seed}. The intervals are those of the sampling and do not cover the "
        "assumptions",
        label="chances",
        alignment=["left", "right", "left", "left"],
    )


def required_table(study: Study) -> ReportTable:
    """Mean engagement at which a thread strips first no more often than a target."""
    case = study.case
    system = case.report_units
    return ReportTable(
        [
            "Probability of stripping before screw failure",
            "Condition",
            head("Required mean length", "length", system),
            head("Present mean length", "length", system),
            head("Reserve length", "length", system),
        ],
        [
            (
                f"at most {100 * each.probability:g} %",
                words.term(Term("condition", each.state)),
                *(cell(x, "length", system) for x in (each.length, each.present, each.reserve)),
            )
            for each in study.chances.required
        ],
        caption="Mean engaged length at which the probability of stripping before screw failure is "
        "that of the first column; dimensions, strengths and fitted length vary about it as in the "
        "figure. A negative reserve: the thread is too short. A dash: no length gives it, since "
        "the boss wall fails",
        label="required-chance",
        alignment=["left", "left", "right", "right", "right"],
    )


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
    return ReportFigure(
        driver_shares(panels),
        caption="Sources of the scatter: total Sobol indices, whisker: their 95 % confidence "
        f"interval; inputs below {100 * LEAST_SHARE:.0f} % left out. What both conditions share, "
        "such as the strength of the parent, moves either stripping load but hardly their ratio.",
        alt=f"Sorted bars. Largest shares: {'; '.join(tops)}.",
        label="drivers",
    )


_DISTRIBUTIONS = {
    "norm": "normal",
    "truncnorm": "normal, cut at the limits",
    "uniform": "uniform",
    "lognorm": "lognormal",
    "weibull_min": "Weibull",
}


def inputs_table(study: Study) -> ReportTable:
    """Every input that scatters, with its distribution and the parameters of it."""
    system = study.case.report_units
    rows = []
    for each in random_variables(study.chances.model):
        population: Any = each.quantity
        ends = (float(end) for end in population.support())
        values = (each.mean, float(population.std()), *ends)
        rows.append(
            (
                words.term(Term("input", each.name)),
                _DISTRIBUTIONS[population.dist.name],
                *(
                    words.quantity(Quantity(value, each.dimension), system=system, how="4")
                    if math.isfinite(value)
                    else "–"
                    for value in values
                ),
            )
        )
    return ReportTable(
        ["Input", "Distribution", "Mean", "Standard deviation", "Lower limit", "Upper limit"],
        rows,
        caption="Distributions of the scattering inputs; a dash: no limit",
        label="scatter",
        alignment=["left", "left", *["right"] * 4],
    )


def steps_table(study: Study) -> ReportTable:
    """What one step of each input costs or gives, in the units of the trade."""
    system = study.case.report_units
    return ReportTable(
        ["Increase of", "By", "Original stripping load, %", "Repaired stripping load, %"],
        [
            (
                words.term(Term("input", step.input.name)),
                words.quantity(
                    Quantity(step.input.step, step.input.dimension), system=system, how="plain"
                ),
                _signed(step.percent["original"]),
                _signed(step.percent["repaired"]),
            )
            for step in study.chances.steps
        ],
        caption="Effect of one step of an input, the others at their means",
        label="steps",
        alignment=["left", "right", "right", "right"],
    )


def _signed(percent: float) -> str:
    return "0" if abs(percent) < 0.05 else signed(percent, 1)


def cautions(study: Study) -> Markdown:
    """What the sampling leaves out; empty where there is nothing."""
    return bullets(study.chances.cautions, study.case.report_units)


def references(study: Study) -> tuple[Reference, ...]:
    """What the probabilities rest on, for the ledger."""
    return study.chances.references
