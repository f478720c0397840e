"""What test pieces show: the record, its scatter, and whether the prediction holds."""

from __future__ import annotations

import math

from IPython.display import Markdown

from ... import words
from ...facts import Fact, Term, fact, number
from ...figures.pull_tests import (
    CurveLine,
    PieceGroup,
    load_against_travel,
    loads_by_state,
    probability_paper,
)
from ...sources import Reference
from ...strength import primary
from ...strength.methods import METHODS
from ...study import Study, evidence
from ...study.evidence import CaseEvidence
from ...uncertainty.pull_tests.tolerance import CLAIMS
from ...units import number as text_of
from ...units import plain, printed, show, side_by_side, signed, unit_of
from .. import escape
from ..figure import ReportFigure, ReportTable
from .cells import bullets, cell, head, mode_words, state_words
from .comparison import passage

#: Smaller p-values are not told apart: that is as many permutations as are drawn.
_LEAST_P = 1e-4


def note(study: Study) -> Markdown:
    """What the record says of itself, set apart: above all that data are invented."""
    found = study.evidence
    return Markdown("> " + escape.markdown(found.tests.note or "The record has no note."))


def summary(study: Study) -> Markdown:
    """What must not be missed, then comparison, tolerance limits, the reference method."""
    return bullets(study.evidence.statements, study.case.report_units)


def record_table(study: Study) -> ReportTable:
    """The pieces by state: number, failure modes, mean and scatter."""
    case, found = study.case, study.evidence
    system = case.report_units
    rows = []
    for each in found.evidence.groups:
        group, scatter = each.group, each.scatter
        modes = ", ".join(f"{mode_words(m)} ({n})" for m, n in group.modes.items())
        rows.append(
            (
                state_words(group.state),
                group.size,
                cell(group.engagement, "length", system),
                f"{len(group.load)}",
                modes,
                *(
                    (
                        cell(scatter.mean, "force", system, 4),
                        f"{text_of(100 * scatter.cov, 2)} %",
                        cell(scatter.least, "force", system, 4),
                    )
                    if scatter
                    else ("–", "–", cell(float(group.load[0]), "force", system, 4))
                ),
            )
        )
    return ReportTable(
        [
            "Condition",
            "Thread",
            head("Engaged", "length", system),
            "Specimens",
            "Failure mode",
            head("Mean load", "force", system),
            "Coefficient of variation",
            head("Lowest", "force", system),
        ],
        rows,
        caption=f"The record {case.pull_tests} (SHA-256 {found.sha256[:12]}…)",
        label="record",
        alignment=["left", "left", "right", "right", "left", "right", "right", "right"],
    )


def pieces_table(study: Study) -> ReportTable:
    """Every piece with its load, its failure mode, and its load over the prediction."""
    case, found = study.case, study.evidence
    system = case.report_units
    rows = []
    for each in found.evidence.groups:
        group = each.group
        predicted = found.predictions.get(group.state, {}).get(primary.ID, math.nan)
        for piece, load, failure in zip(group.piece, group.load, group.mode, strict=True):
            ratio = float(load) / predicted
            rows.append(
                (
                    piece,
                    state_words(group.state),
                    cell(float(load), "force", system, 4),
                    mode_words(failure),
                    "–" if math.isnan(ratio) else text_of(ratio),
                )
            )
    return ReportTable(
        [
            "Specimen",
            "Condition",
            head("Peak load", "force", system),
            "Failure mode",
            "Test-to-predicted ratio",
        ],
        rows,
        caption="The specimens; prediction by the reference method",
        label="single-pieces",
        alignment=["left", "left", "right", "left", "right"],
    )


def outliers(study: Study) -> Markdown:
    """Whether the farthest piece of each group is an outlier; empty for too few pieces."""
    found = (
        each.outlier.fact(**each.group.values)
        for each in study.evidence.evidence.groups
        if each.outlier is not None
    )
    return bullets(found, study.case.report_units)


def curves_figure(study: Study) -> ReportFigure | Markdown:
    """Load against travel of the pieces whose curves are given, beside the prediction."""
    case, found = study.case, study.evidence
    if not found.curves:
        return passage("The record gives no curve of load against travel.")
    curves = [
        CurveLine(
            piece=each.piece,
            state=each.state,
            travel=each.curve.displacement,
            load=each.curve.load,
            first_yield=each.curve.first_yield,
        )
        for each in found.curves
    ]
    predicted = {state: loads[primary.ID] for state, loads in found.predictions.items()}
    names = ", ".join(each.piece for each in found.curves)
    return ReportFigure(
        load_against_travel(curves, predicted, system=case.report_units),
        caption="Load against travel of the machine's head. Circle: first yield (5 % secant). "
        "Level lines: prediction by the reference method.",
        alt=f"Curves of load against travel of the specimens {names}, each rising to its peak.",
        label="curves",
    )


def curves_table(study: Study) -> ReportTable | Markdown:
    """Stiffness, first yield, work and peak of each curve; empty where there is none."""
    case, found = study.case, study.evidence
    if not found.curves:
        return Markdown("")
    system = case.report_units
    rows = [
        (
            each.piece,
            state_words(each.state),
            _in_units(each.curve.stiffness, -1, system),
            cell(each.curve.first_yield, "force", system),
            _in_units(each.curve.work, 1, system),
            cell(each.curve.peak, "force", system, 4),
            cell(each.recorded, "force", system, 4)
            + ("" if each.curve.agrees(each.recorded) else " DISAGREES"),
        )
        for each in found.curves
    ]
    return ReportTable(
        [
            "Specimen",
            "Condition",
            f"Stiffness, {_unit('/', system)}",
            head("First yield", "force", system),
            f"Work to the peak, {_unit('·', system)}",
            head("Peak of the curve", "force", system),
            head("Peak of the record", "force", system),
        ],
        rows,
        caption="Values of the curves; stiffness and work include the machine's own elongation",
        label="curve-values",
        lead="@fig:curves shows the curves, @tbl:curve-values their values.",
        alignment=["left", "left", "right", "right", "right", "right", "right"],
    )


def _in_units(value: float, power: int, system: str) -> str:
    """Print a force times a length (power 1), or over one (-1), in the units of the report."""

    def text(each: str) -> str:
        return text_of(
            value
            * float(printed(1.0, "force", each))
            * float(printed(1.0, "length", each)) ** power
        )

    return side_by_side(text, system)


def _unit(sign: str, system: str) -> str:
    return side_by_side(lambda s: f"{unit_of('force', s)}{sign}{unit_of('length', s)}", system)


def _pieces(found: CaseEvidence, system: str) -> list[PieceGroup]:
    pieces = []
    for each in found.evidence.groups:
        group, scatter = each.group, each.scatter
        length = plain(group.engagement, dimension="length", system=system)
        several = sum(g.group.state == group.state for g in found.evidence.groups) > 1
        pieces.append(
            PieceGroup(
                state=group.state,
                words=state_words(group.state) + (f", {group.size} {length}" if several else ""),
                loads=group.load,
                mean=scatter.mean if scatter else math.nan,
                mean_low=scatter.mean_low if scatter else math.nan,
                mean_high=scatter.mean_high if scatter else math.nan,
                sd=scatter.sd if scatter else math.nan,
                bounds={
                    claim: bound.value
                    for claim in CLAIMS
                    if (bound := each.governing(claim)) is not None and bound.value > 0
                },
                predicted=found.predictions.get(group.state, {}).get(primary.ID, math.nan),
            )
        )
    return pieces


def loads_figure(study: Study) -> ReportFigure:
    """Every piece of both states with mean, tolerance bounds and prediction."""
    case, found = study.case, study.evidence
    system = case.report_units
    pieces = _pieces(found, system)
    means = ", ".join(f"{p.words} {show(p.mean, 'force', system=system)}" for p in pieces)
    return ReportFigure(
        loads_by_state(pieces, system=system),
        caption="Peak loads of the specimens. Bar: mean with its 95 % confidence interval. "
        "Triangles: lower tolerance limits 99/95 and 90/95. Upright line: prediction by the "
        "reference method.",
        alt=f"One row of points for each state. Mean loads: {means}.",
        label="pieces",
    )


def probability_figure(study: Study) -> ReportFigure:
    """The loads on normal probability paper."""
    case, found = study.case, study.evidence
    return ReportFigure(
        probability_paper(_pieces(found, case.report_units), system=case.report_units),
        caption="The specimens on normal probability paper (median ranks). Points near the line: "
        "a normal distribution cannot be rejected. Diamonds: lower tolerance limits 99/95, left of "
        "the line because few specimens leave mean and scatter uncertain.",
        alt="Two rising rows of points, each with the line of its fitted normal distribution and "
        "a diamond for its limit.",
        label="probability",
    )


def shapes_passage(study: Study) -> Markdown:
    """Whether each distribution can be rejected for each condition."""
    found = (
        fit.fact(**each.group.values)
        for each in study.evidence.evidence.groups
        for fit in each.fits
    )
    return bullets(found, study.case.report_units)


def bounds_table(study: Study) -> ReportTable:
    """Lower tolerance bounds by every shape, side by side."""
    found, system = study.evidence, study.case.report_units
    rows = [
        (
            state_words(group.group.state),
            bound.claim,
            words.term(Term("distribution", bound.method), "short"),
            f"{bound.n}",
            text_of(bound.factor, 4),
            cell(bound.value, "force", system, 4),
            "; ".join(
                text
                for text in (
                    "governs" if bound is group.governing(bound.claim) else "",
                    "" if bound.note is None else words.sentence(bound.note),
                )
                if text
            ),
        )
        for group in found.evidence.groups
        for bound in group.bounds
    ]
    return ReportTable(
        [
            "Condition",
            "Content / confidence",
            "Distribution",
            "Specimens",
            "Factor",
            head("Tolerance limit", "force", system),
            "Note",
        ],
        rows,
        caption="One-sided lower tolerance limits: 99/95 is the load that 99 % of all such "
        "specimens exceed, with 95 % confidence. The lowest limit by a distribution that cannot be "
        "rejected governs, otherwise the distribution-free one. Usual: the logarithm of the "
        "distribution function is concave. Factor: standard deviations below the mean (normal, "
        "lognormal), Weibull factor, rank, or exponent (Hanson-Koopmans)",
        label="bounds",
        alignment=["left", "left", "left", "right", "right", "right", "left"],
    )


def comparison_passage(study: Study) -> Markdown:
    """Original against repaired, with the p-values and the seed of the permutations."""
    found = study.evidence.evidence
    compared = found.comparison
    if compared is None:
        return _paragraph([] if found.not_compared is None else [found.not_compared])
    said = [
        compared.fact(),
        fact(
            "comparison_p_values",
            "info",
            welch=number(max(compared.welch_p, _LEAST_P)),
            permutation=number(max(compared.permutation_p, _LEAST_P)),
            seed=str(compared.seed),
        ),
    ]
    return _paragraph(
        [*said, *([fact("comparison_contradicted", "caution")] * compared.contradicted)]
    )


def _paragraph(found: list[Fact]) -> Markdown:
    return passage(" ".join(words.sentence(each) for each in found))


def agreement_table(study: Study) -> ReportTable | Markdown:
    """Tested over predicted load of each method, never averaged."""
    case, found = study.case, study.evidence
    system = case.report_units
    by_method: dict[str, dict[str, tuple[str, ...]]] = {}
    for group in found.evidence.groups:
        for agreement in group.agreement:
            shown = (
                cell(found.predictions[group.group.state][agreement.method], "force", system),
                text_of(agreement.ratio),
                f"{text_of(agreement.low)} to {text_of(agreement.high)}",
            )
            by_method.setdefault(agreement.method, {})[group.group.state] = shown
    if not by_method:
        return passage("No group of specimens can be compared with the prediction.")
    blank = ("–", "–", "–")
    rows = [
        (
            "reference method" if method == primary.ID else METHODS[method].title,
            *shown.get("original", blank),
            *shown.get("repaired", blank),
        )
        for method, shown in by_method.items()
    ]
    return ReportTable(
        [
            "Method",
            head("Original: predicted", "force", system),
            "test-to-predicted ratio",
            "95 % interval",
            head("Repaired: predicted", "force", system),
            "test-to-predicted ratio",
            "95 % interval",
        ],
        rows,
        caption="Test-to-predicted ratio; above 1 the method is conservative. "
        f"{words.sentence(found.basis, system=system)}",
        label="agreement",
        alignment=["left", "right", "right", "left", "right", "right", "left"],
    )


def strength_table(study: Study) -> ReportTable | Markdown:
    """The parent's shear strength before and after the tests, and the margin at its bound."""
    case, found = study.case, study.evidence
    if not found.strength:
        return passage("No specimen gives a shear strength of the parent.")
    system = case.report_units
    rows = []
    for each in found.strength:
        update, margin = each.update, each.margin
        missing = margin is None or math.isnan(margin.at_bound)
        rows.append(
            (
                state_words(each.group.state),
                f"{cell(update.prior.mean, 'stress', system, 4)} ± "
                f"{cell(update.prior.sd, 'stress', system, 2)}",
                cell(update.posterior.mean, "stress", system, 4),
                f"{cell(update.low, 'stress', system, 4)} to "
                f"{cell(update.high, 'stress', system, 4)}",
                f"{text_of(100 * update.scatter, 2)} %",
                cell(each.bound, "stress", system, 4),
                "–" if missing or margin is None else signed(margin.at_bound),
            )
        )
    credible = f"{100 * found.strength[0].update.credible:.0f} %"
    return ReportTable(
        [
            "Specimens",
            head("Mean before", "stress", system),
            head("updated", "stress", system),
            f"{credible} interval",
            "Coefficient of variation",
            head("At the 99/95 limit", "stress", system),
            "Margin at the limit",
        ],
        rows,
        caption="Shear strength of the parent by the reference method, assumed before the tests "
        "(mean and standard deviation) and updated by them (posterior, Bayes); strength at the "
        "lower tolerance limit 99/95 of the loads, and the margin of the parent thread under the "
        "ultimate design load with it. The values apply to this lot and this method only: the "
        "tests cannot distinguish a strong parent from a method that predicts too little",
        label="strength",
        alignment=["left"] + ["right"] * 6,
    )


def strength_cautions(study: Study) -> Markdown:
    """What must be known before the updated strength is used; empty where there is nothing."""
    found = (
        said
        for each in study.evidence.strength
        for said in each.update.cautions(**each.group.values)
    )
    return bullets(found, study.case.report_units)


def plan(study: Study) -> Markdown:
    """How many specimens a further test needs, with the scatter found here."""
    return bullets(study.evidence.plans, study.case.report_units)


def cautions(study: Study) -> Markdown:
    """What the record cannot show."""
    return bullets(study.evidence.cautions, study.case.report_units)


def references(study: Study) -> tuple[Reference, ...]:
    """What probabilities and evidence rest on, for the ledger."""
    return (*study.chances.references, *evidence.REFERENCES)
