"""How sure the comparison is: three sentences and a figure, or the whole of it."""

from __future__ import annotations

import numpy as np
from IPython.display import Markdown

from ...figures.chance import LEAST_SHARE, driver_shares, load_distributions
from ...reliability import Probability, Variable, one_at_a_time
from ...sources import Reference
from ...study import Study
from ...units import number, plain, show, unit_inside
from .. import escape
from ..figure import ReportFigure, ReportTable
from .cells import cell, head

_EVENT_WORDS = {
    "repaired_weaker_than_original": "repaired thread strips at less than the original one",
    "original_strips_before_screw_breaks": "original thread strips before the screw breaks",
    "repaired_strips_before_screw_breaks": "repaired thread strips before the screw breaks",
    "original_margin_negative": "original: thread or screw fails under the factored design load",
    "repaired_margin_negative": "repaired: thread or screw fails under the factored design load",
}


def how_sure(study: Study) -> Markdown:
    """Say in a few sentences how sure the comparison is, and what the doubt rests on."""
    return Markdown(escape.markdown(" ".join(study.chance.sentences())))


def distributions_figure(study: Study) -> ReportFigure:
    """Strip loads of both states and the screw's breaking load, as many joints would show them."""
    case, found = study.case, study.chance
    loads = found.simulation
    medians = ", ".join(
        f"{show(float(np.median(loads.strip[state])), 'force', system=case.report_units)} ({state})"
        for state in ("original", "repaired")
    )
    return ReportFigure(
        load_distributions(
            loads.strip,
            loads.screw,
            screw_words=f"screw {case.screw}\nbreaks",
            load=None if case.design_load is None else case.design_load * found.model.load_factor,
            load_words="design load" if found.model.load_factor == 1 else "factored\ndesign load",
            system=case.report_units,
        ),
        caption=f"Loads of {loads.n:,} sampled joints (seed {loads.seed}): sizes within their "
        f"tolerances, fitted length and screw strength between their limits. "
        f"{found.parent.sentence(system=case.report_units)}",
        alt=f"Three humps over the load. Median strip loads: {medians}; median breaking load of "
        f"the screw: {show(float(np.median(loads.screw)), 'force', system=case.report_units)}.",
        label="how-sure",
    )


def probabilities_table(study: Study) -> ReportTable:
    """Every chance with its interval and the way it was found."""
    found = study.chance
    rows = [
        (f"{state}: thread or screw fails under preload and factored share of the design load",
         *_chance(probability), probability.method)
        for state, probability in found.under_preload.items()
    ]  # fmt: skip
    rows += [
        (_EVENT_WORDS[name], *_chance(probability), probability.method)
        for name, probability in found.simulation.probabilities.items()
    ]
    confidence = found.simulation.confidence
    return ReportTable(
        ["What may happen", "Chance", f"{100 * confidence:.0f} % interval", "Found by"],
        rows,
        caption=f"Chances in {found.simulation.n:,} sampled joints, seed {found.simulation.seed}. "
        "The intervals are those of the sampling; they say nothing about the assumptions",
        label="chances",
        alignment=["left", "right", "left", "left"],
    )


def required_table(study: Study) -> ReportTable:
    """Mean engagement at which a thread strips first no more often than a target."""
    case = study.case
    system = case.report_units
    return ReportTable(
        [
            "Strips before the screw breaks",
            "State",
            head("Mean engagement needed", "length", system),
            head("Present mean", "length", system),
            head("To spare", "length", system),
        ],
        [
            (
                f"at most {100 * each.probability:g} %",
                each.state,
                *(cell(x, "length", system) for x in (each.length, each.present, each.reserve)),
            )
            for each in study.required_by_chance
        ],
        caption="Engagement of full thread, mean of many joints, that keeps the chance of "
        "stripping first at a target; sizes, strengths and fitted length scatter about it as in "
        "the figure. A negative figure to spare: the thread is too short. "
        "A dash: no length keeps the target, since the boss wall gives way",
        label="required-chance",
        alignment=["left", "left", "right", "right", "right"],
    )


def _chance(probability: Probability) -> tuple[str, str]:
    """A chance and its interval, as percentages."""
    if probability.estimate == 0:
        return f"below {number(100 * probability.high, 2)} %", ""
    if probability.estimate == 1:
        return f"above {number(100 * probability.low, 5)} %", ""
    low, high = (number(100 * p, 3) for p in (probability.low, probability.high))
    return f"{number(100 * probability.estimate, 3)} %", f"{low} to {high} %"


def drivers_figure(study: Study) -> ReportFigure:
    """What the scatter of the repaired strip load and of the ratio rests on."""
    found = study.chance
    outputs = ("repaired strip load", "repaired over original")
    first, second = (found.drivers.ranked(output)[0] for output in outputs)
    return ReportFigure(
        driver_shares({output: found.drivers.columns(output) for output in outputs}),
        caption="What the scatter rests on: total Sobol indices, the whisker their 95 % interval; "
        f"inputs below {100 * LEAST_SHARE:.0f} % left out. What both states share, such as the "
        "parent's strength, moves either strip load but hardly their ratio.",
        alt=f"Sorted bars. Of the repaired strip load the {first[0].label} has "
        f"{100 * first[1]:.0f} %; of the ratio the {second[0].label} has {100 * second[1]:.0f} %.",
        label="drivers",
    )


def steps_table(study: Study) -> ReportTable:
    """What one step of each input costs or gives, in the units of the trade."""
    case = study.case
    steps = one_at_a_time(study.chance.model)
    return ReportTable(
        ["One step more of", "Step", "Original strip load, %", "Repaired strip load, %"],
        [
            (
                step.input.label,
                _step(step.input, case.report_units),
                _signed(step.percent["original"]),
                _signed(step.percent["repaired"]),
            )
            for step in steps
            if not step.input.name.endswith("model_error")
        ],
        caption="What one step of an input costs (−) or gives (+), the others at their means",
        label="steps",
        alignment=["left", "right", "right", "right"],
    )


def _step(of: Variable, system: str) -> str:
    """The step of an input with its unit, if it has one."""
    dimensions = {unit_inside(each): each for each in ("length", "area", "force", "stress")}
    dimension = dimensions.get(of.unit)
    if dimension is None:
        return f"{of.step:g} {of.unit}".rstrip()
    return plain(of.step, dimension=dimension, system=system, as_typed=True)


def _signed(percent: float) -> str:
    return "0" if abs(percent) < 0.05 else f"{percent:+.1f}".replace("-", "−")


def cautions(study: Study) -> Markdown:
    """What the sampling leaves out; empty where there is nothing."""
    return Markdown("\n".join(f"- {escape.markdown(c)}" for c in study.chance.cautions))


def references(study: Study) -> tuple[Reference, ...]:
    """What the chances rest on, for the ledger."""
    return study.chance.references
