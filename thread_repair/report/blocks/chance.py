"""How sure the comparison is: three sentences and a figure, or the whole of it."""

import math
from typing import Any

import numpy as np
from IPython.display import Markdown

from ... import words
from ...facts import Quantity, Term, count, force, share
from ...figures.certainty import LEAST_SHARE, driver_shares
from ...study import Study, chances
from ...uncertainty.reliability.model import random_variables
from ...units import signed
from ..figure import ReportFigure, ReportTable
from .layout import bullets, figure, in_sound_metal, table, units


def how_sure(study: Study) -> Markdown:
    """Say in a few sentences how sure the comparison is, and what the doubt rests on."""
    return in_sound_metal(study, bullets(study, study.chances.facts).data)


def distributions_figure(study: Study) -> ReportFigure:
    """Strip loads of both states and the screw's breaking load, as many joints would show them."""
    found = study.chances
    loads = {**found.simulation.strip, "screw": found.simulation.screw}
    medians: dict[str, Any] = {name: force(float(np.median(x))) for name, x in loads.items()}
    return figure(
        "how-sure",
        study.plot.loads(),
        study,
        n=count(found.simulation.n),
        seed=str(found.simulation.seed),
        parent=found.parent.fact,
        **medians,
    )


def probabilities_table(study: Study) -> ReportTable:
    """Every probability with its interval and the way it was found."""
    rows, sampled = [], study.chances.simulation
    for name, each in study.chances.probabilities.items():
        found = chances.probability_fact(name, each)
        interval = words.filled("{low:3} to {high:3}", found.values)
        text = words.filled(words.term(Term("probability", found.id)), found.values)
        rows.append((name, text, interval if found.id == "probability" else "–", each.method))
    confidence, n = share(sampled.confidence), count(sampled.n)
    return table("chances", rows, study, confidence=confidence, n=n, seed=str(sampled.seed))


def required_table(study: Study) -> ReportTable:
    """Mean engagement at which a thread strips first no more often than a target."""
    rows = [(f"at most {100 * each.probability:g} %", each) for each in study.chances.required]
    return table("required-chance", rows, study)


def drivers_figure(study: Study) -> ReportFigure:
    """What the scatter of the repaired strip load and of the ratio rests on."""
    found = study.chances.drivers
    panels, tops = {}, []
    for output in ("repaired strip load", "repaired over original"):
        columns = found[output]
        name = words.term(Term("output", output))
        labels = [words.term(Term("input", each)) for each in columns["input"]]
        panels[name] = {**columns, "label": labels}
        tops.append(f"of the {name}, {labels[0]} {100 * float(columns['total'][0]):.0f} %")
    told = "; ".join(tops)
    return figure("drivers", driver_shares(panels), least=share(LEAST_SHARE), told=told)


def inputs_table(study: Study) -> ReportTable:
    """Every input that scatters, with its distribution and the parameters of it."""
    rows = []
    for each in random_variables(study.chances.model):
        population: Any = each.quantity
        shown = (
            words.quantity(Quantity(value, each.dimension), system=units(study), how="4")
            if math.isfinite(value)
            else None
            for value in (each.mean, float(population.std()), *map(float, population.support()))
        )
        rows.append((each.name, population.dist.name, *shown))
    return table("scatter", rows, study)


def steps_table(study: Study) -> ReportTable:
    """What one step of each input costs or gives, in the units of the trade."""
    rows = []
    for step in study.chances.steps:
        by = Quantity(step.input.step, step.input.dimension)
        ends = (_signed(step.percent[state]) for state in ("original", "repaired"))
        rows.append((step.input.name, words.quantity(by, system=units(study), how="plain"), *ends))
    return table("steps", rows)


def _signed(percent: float) -> str:
    return "0" if abs(percent) < 0.05 else signed(percent, 1)


def cautions(study: Study) -> Markdown:
    """What the sampling leaves out; empty where there is nothing."""
    return bullets(study, study.chances.cautions)
